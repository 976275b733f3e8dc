//! A checked design: every parameter known, every derived dimension computed.

use super::choice::{self, Choices, JointKind, Shape};
use super::defaults::{self, Bent};
use super::dims::Dims;
use super::impossible;
use super::numbers::Numbers;
use super::problem::{self, Problem, Span};
use super::rules::{self, Finding, RuleVerdict, Severity};
use super::table::{Key, Kind, TABLE};
use super::text::{self, Given, LARGEST_FILE, MOST_PROBLEMS};
use crate::trade::limits::State;
use crate::trade::mechanics::Mechanics;
use crate::trade::metals::{METALS, Metal};
use crate::trade::own::Own;
use crate::trade::wearing::Wearing;
use serde::Serialize;
use std::sync::Arc;

/// A file that makes sense.
#[derive(Clone, Debug)]
pub struct Design {
    given: Given,
    numbers: Numbers,
    bent: Bent,
    dims: Dims,
}

/// Where a value comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Origin {
    /// The file says so.
    Given,
    /// From other values, by the rule of the table.
    Derived,
    /// The same for every design.
    Default,
}

/// One parameter of a design.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Value {
    /// Path in the file.
    pub path: &'static str,
    /// Number in the unit, or word.
    pub value: serde_json::Value,
    /// `mm`, `deg`, `ct`, or empty.
    pub unit: &'static str,
    /// Where it comes from.
    pub origin: Origin,
    /// The rule of a derived or default value.
    #[serde(skip_serializing_if = "str::is_empty")]
    pub rule: &'static str,
}

/// Rows of the table that are the same for every design.
const FIXED: &[Key] = &[
    Key::ClaspKind,
    Key::ClaspGap,
    Key::PocketClearance,
    Key::SideGap,
    Key::OuterShare,
    Key::Name,
    Key::StoneTolerance,
    Key::Shape,
    Key::Joint,
    Key::BurAngle,
    Key::EndPlay,
    Key::LinkRoute,
    Key::LinkKind,
    Key::TrialGap,
    Key::TrialBoreOffset,
    Key::Alloy,
    Key::Wrist,
    Key::ClaspOuterShare,
    Key::FrameRoute,
    Key::LeadAngle,
    Key::TongueFriction,
    Key::FootLength,
    Key::TongueFixing,
    Key::CatchWire,
    Key::ChainGuard,
    Key::TolerancePitch,
    Key::ToleranceClasp,
    Key::PolishOutside,
    Key::PolishOpenings,
    Key::PolishUnderside,
    Key::PolishMating,
    Key::MasterProcess,
    Key::MetalShrink,
    Key::MetalBy,
    Key::PatternShrink,
    Key::PatternBy,
    Key::HoleCloses,
    Key::SprueDiameter,
    Key::Contact,
    Key::JigPlay,
    Key::JigWall,
    Key::JigGuide,
    Key::JigClearance,
    Key::JigSpring,
    Key::WearLoad,
    Key::WearCoefficient,
    Key::WearSwings,
    Key::WearAngle,
];

/// Reads a file's bytes: UTF-8, with or without a byte order mark, of at most [`LARGEST_FILE`] bytes.
///
/// # Errors
/// Every problem of the file.
pub fn read_bytes(bytes: &[u8], own: &Arc<Own>) -> Result<Design, Vec<Problem>> {
    let one = |code: &str, message: String| vec![Problem::new(code, "", Span::default(), message)];
    if bytes.len() > LARGEST_FILE {
        let message = format!("the file has more than {LARGEST_FILE} bytes; a design has a few thousand");
        return Err(one("text.too_large", message));
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => read_with(text, &[], own),
        Err(e) => {
            let line = bytes.iter().take(e.valid_up_to()).filter(|b| **b == b'\n').count() + 1;
            let message = format!("line {line} is not UTF-8 text; save the file with UTF-8 encoding");
            Err(one("text.encoding", message))
        }
    }
}

/// Reads the text of a file, to be judged by the tables of the trade as they stand.
///
/// # Errors
/// Every problem of the file, sorted by place.
pub fn read(text: &str) -> Result<Design, Vec<Problem>> {
    read_with(text, &[], &Arc::default())
}

/// Reads the text of a file as if these values stood in it, to be judged by the maker's own tables.
///
/// # Errors
/// Every problem of the file so changed, sorted by place; a value that is set has the place of its parameter in the file, or
/// that of the opening brace.
pub fn read_with(text: &str, set: &[(Key, f64)], own: &Arc<Own>) -> Result<Design, Vec<Problem>> {
    let (mut given, mut problems) = text::read(text, own);
    for (key, x) in set {
        let s = key.spec();
        if !(s.least..=s.most).contains(x) {
            let message = format!("{} is {x} {}; it runs from {} to {}", s.path, s.unit(), s.least, s.most);
            problems.push(Problem::new("value.range", s.path, given.place(*key), message).limit(s.why));
            continue;
        }
        problems.retain(|p| p.path != s.path || !p.code.starts_with("value."));
        given.span[*key as usize] = Some(given.place(*key));
        given = given.with(*key, *x);
    }
    let unread = problems.iter().any(|p| p.code.starts_with("text.") && p.code != "text.decimal_comma");
    if !unread {
        for spec in TABLE.iter().filter(|s| s.required()) {
            if given.span[spec.key as usize].is_none() {
                problems.push(
                    Problem::new(
                        "value.missing",
                        spec.path,
                        given.head,
                        format!("{} is missing: {}", spec.path, spec.doc),
                    )
                    .works(spec.example),
                );
            }
        }
    }
    let (numbers, bent) = defaults::resolve(&given);
    let dims = Dims::of(&numbers);
    if !problems.iter().any(|p| [Key::Shape, Key::Joint, Key::ClaspKind].iter().any(|k| p.path == k.path())) {
        problems.extend(strangers(&given, &numbers));
    }
    // Relations between values mean something only when the values are what the maker meant.
    if problems.is_empty() {
        problems.extend(
            impossible::broken(&numbers, &dims, given.asks_trial())
                .into_iter()
                .map(|c| impossible_problem(c, &given, &numbers, &dims, bent)),
        );
    }
    if problems.is_empty() {
        return Ok(Design { given, numbers, bent, dims });
    }
    problems.truncate(MOST_PROBLEMS);
    problem::place(text, &mut problems);
    Err(problems)
}

/// Parameters the file gives that have no place in a link of its shape and joint.
fn strangers(given: &Given, v: &Numbers) -> Vec<Problem> {
    let choices = Choices::of(v);
    TABLE
        .iter()
        .filter(|s| given.span[s.key as usize].is_some() && !choice::takes_part(s.key, choices))
        .map(|s| {
            let message = choice::stranger(s.key, choices);
            Problem::new("key.no_part", s.path, given.place(s.key), message)
                .limit(choice::stranger_reason(s.key))
        })
        .collect()
}

/// A condition as a problem, at a parameter that the file gives where one takes part.
///
/// The value offered leaves a link that can be built and passes every binding rule, wherever a single value does that;
/// else one that can be built. Parameters that could give way are only those that alone could mend it.
fn impossible_problem(
    c: &impossible::Condition,
    given: &Given,
    v: &Numbers,
    d: &Dims,
    bent: Bent,
) -> Problem {
    let part: Vec<Key> = c.keys.iter().copied().filter(|k| choice::takes_part(*k, Choices::of(v))).collect();
    let mends = |key: Key, clean: bool| {
        nearest(key, v[key], |x| {
            defaults::would(&given.with(key, x), bent, |w, e| {
                (c.margin)(w, e) >= 0.0
                    && impossible::broken(w, e, given.asks_trial()).is_empty()
                    && (!clean || rules::refused(w, e).is_empty())
            })
        })
    };
    let able = |clean: bool| -> Vec<(Key, f64)> {
        part.iter().filter_map(|k| mends(*k, clean).map(|x| (*k, x))).collect()
    };
    let mut ways = able(true);
    if ways.is_empty() {
        ways = able(false);
    }
    let is_given = |k: &Key| given.get(*k).is_some();
    let key = ways
        .iter()
        .map(|w| w.0)
        .find(is_given)
        .or_else(|| part.iter().copied().find(is_given))
        .or_else(|| ways.first().map(|w| w.0))
        .or_else(|| part.first().copied());
    let Some(key) = key else {
        return Problem::new(c.code, "", given.head, (c.say)(v, d));
    };
    let mut p = Problem::new(&format!("impossible.{}", c.code), key.path(), given.place(key), (c.say)(v, d))
        .limit(c.why);
    p.works = ways.iter().find(|w| w.0 == key).map(|w| shown(key, w.1));
    p.gives_way = ways.iter().filter(|w| w.0 != key).map(|w| w.0.path().to_owned()).collect();
    if ways.is_empty() {
        p.together = part.iter().map(|k| k.path().to_owned()).collect();
    }
    p
}

/// How many steps to either side are tried one by one, and how wide the strides are beyond: a window of values narrower
/// than a stride is overlooked only when it is far from the value in the file.
const NEAR_STEPS: i32 = 25;
const STRIDE: i32 = 5;
/// Steps looked at to either side: 3 mm, farther than a slip of the pen.
const FAR_STEPS: i32 = 300;

/// The value nearest to `now` for which a condition holds, in steps a goldsmith measures.
pub(super) fn nearest(key: Key, now: f64, holds: impl Fn(f64) -> bool) -> Option<f64> {
    let spec = key.spec();
    let step = match spec.kind {
        Kind::Length | Kind::Wire | Kind::Carat | Kind::Share => 0.01,
        Kind::Angle | Kind::Count => 1.0,
        Kind::Choice(_) | Kind::Text => return None,
    };
    let base = (now / step).round();
    let at = |k: i32| ((base + f64::from(k)) * step * 1e6).round() / 1e6;
    let fits = |k: i32| (spec.least..=spec.most).contains(&at(k)) && holds(at(k));
    for k in 0..=NEAR_STEPS {
        if let Some(found) = [k, -k].into_iter().find(|k| fits(*k)) {
            return Some(at(found));
        }
    }
    let mut k = NEAR_STEPS + STRIDE;
    while k <= FAR_STEPS {
        for sign in [1, -1] {
            if fits(sign * k) {
                // Back to the nearest of this stride.
                let found = (k - STRIDE + 1..=k).map(|i| sign * i).find(|i| fits(*i));
                return found.map(at);
            }
        }
        k += STRIDE;
    }
    None
}

/// A value as it would stand in a file.
pub(super) fn shown(key: Key, x: f64) -> String {
    match key.spec().kind {
        Kind::Count => format!("{x:.0}"),
        Kind::Angle => format!("{x:.1}"),
        _ => format!("{x:.2}"),
    }
}

impl Design {
    /// Name of the design.
    #[must_use]
    pub fn name(&self) -> &str {
        self.given.name.as_deref().unwrap_or("unnamed")
    }
    /// Whom the caster asks; empty where the file does not say.
    #[must_use]
    pub fn contact(&self) -> &str {
        self.given.contact.as_deref().unwrap_or_default()
    }
    /// Titles of the binding rules that do not hold.
    #[must_use]
    pub fn broken(&self) -> Vec<&'static str> {
        let binds = |f: &Finding| f.severity == Severity::Refuse && f.verdict != RuleVerdict::Pass;
        self.findings().iter().filter(|f| binds(f)).map(|f| f.title).collect()
    }
    /// Whether the file gives this parameter.
    #[must_use]
    pub fn is_given(&self, key: Key) -> bool {
        self.given.span[key as usize].is_some()
    }
    /// The alloy.
    #[must_use]
    pub fn metal(&self) -> &'static Metal {
        &METALS[self.word(Key::Alloy).min(METALS.len() - 1)]
    }
    /// The trade's tables as this maker has them.
    #[must_use]
    pub fn own(&self) -> &Arc<Own> {
        self.numbers.own()
    }
    /// Density of the alloy, g/cm3, and where it comes from.
    #[must_use]
    pub fn density(&self) -> (f64, &'static str) {
        self.own().density(self.metal())
    }
    /// Stiffness and strength of the alloy.
    #[must_use]
    pub fn mechanics(&self) -> Mechanics {
        self.numbers.mechanics()
    }
    /// Hardness, hard strength and solder of the alloy.
    #[must_use]
    pub fn wearing(&self) -> Wearing {
        self.own().wearing(self.numbers.alloy())
    }
    /// A parameter in its unit (mm, degrees, carat, count).
    #[must_use]
    pub fn get(&self, key: Key) -> f64 {
        self.numbers[key]
    }
    /// Number of the word of a choice.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    pub(crate) fn word(&self, key: Key) -> usize {
        self.numbers[key] as usize
    }
    /// The same design with one number changed and every other as it stands, defaults too.
    pub(crate) fn varied(&self, key: Key, x: f64) -> Self {
        let mut numbers = self.numbers.clone();
        numbers[key] = x;
        let dims = Dims::of(&numbers);
        Self { numbers, dims, ..self.clone() }
    }
    /// All derived dimensions.
    #[must_use]
    pub fn dims(&self) -> &Dims {
        &self.dims
    }
    /// Why no trial print can be made of this link, where the file does not ask for one and its opened joint would not
    /// be whole; the finished link can be made all the same.
    #[must_use]
    pub fn no_trial(&self) -> Option<String> {
        impossible::no_trial(&self.numbers, &self.dims)
    }
    /// The same design as the trial print is made: bores, grooves and pockets opened for the printer. Not to be built where
    /// [`Self::no_trial`] has a reason.
    #[must_use]
    pub fn trial(&self) -> Self {
        let numbers = impossible::trial(&self.numbers);
        let dims = Dims::of(&numbers);
        Self { numbers, dims, ..self.clone() }
    }
    /// State of the metal that wall limits speak of: finished where the link is cast, stock where it is fabricated.
    #[must_use]
    pub fn state(&self) -> State {
        if self.word(Key::LinkRoute) == 0 { State::Finished } else { State::Stock }
    }
    /// Outline of the collet.
    #[must_use]
    pub fn shape(&self) -> Shape {
        self.dims.shape
    }
    /// Joint between two links.
    #[must_use]
    pub fn joint(&self) -> JointKind {
        self.dims.joint
    }
    /// Whether left and right are exchanged.
    #[must_use]
    pub fn mirrored(&self) -> bool {
        self.word(Key::LinkKind) == 3
    }
    /// Whether a parameter takes part in this link; [`Self::get`] is 0 for one that does not.
    #[must_use]
    pub fn takes_part(&self, key: Key) -> bool {
        choice::takes_part(key, Choices::of(&self.numbers))
    }
    /// Whether the left and the right end carry a joint.
    #[must_use]
    pub fn joints(&self) -> [bool; 2] {
        match self.word(Key::LinkKind) {
            1 => [false, true],
            2 => [true, false],
            _ => [true, true],
        }
    }
    /// By how much the setting was widened beyond stone + 0.10 because the claws do not fit otherwise, mm.
    #[must_use]
    pub fn widened(&self) -> f64 {
        self.bent.widened
    }
    /// Every parameter that takes part in this link, in the order of the table.
    #[must_use]
    pub fn values(&self) -> Vec<Value> {
        TABLE
            .iter()
            .filter(|s| choice::takes_part(s.key, Choices::of(&self.numbers)))
            // A contact is given or not there at all.
            .filter(|s| s.key != Key::Contact || !self.contact().is_empty())
            .map(|s| {
                let given = self.given.span[s.key as usize].is_some();
                let value = match s.kind {
                    Kind::Text if s.key == Key::Contact => self.contact().into(),
                    Kind::Text => self.name().into(),
                    Kind::Choice(w) => w.list().get(self.word(s.key)).copied().unwrap_or_default().into(),
                    #[allow(clippy::cast_possible_truncation)]
                    Kind::Count => (self.numbers[s.key] as i64).into(),
                    _ => rounded(self.numbers[s.key]).into(),
                };
                let origin = match (given, FIXED.contains(&s.key)) {
                    (true, _) => Origin::Given,
                    (false, true) => Origin::Default,
                    (false, false) => Origin::Derived,
                };
                Value { path: s.path, value, unit: s.unit(), origin, rule: if given { "" } else { s.rule } }
            })
            .collect()
    }
    /// What every rule says.
    #[must_use]
    pub fn findings(&self) -> Vec<Finding> {
        rules::findings(&self.given, &self.numbers, &self.dims, self.bent)
    }
}

/// Cuts the dust of binary fractions off, for display.
fn rounded(x: f64) -> f64 {
    (x * 1e6).round() / 1e6
}
