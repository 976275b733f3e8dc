//! The rules of the trade: what makes a link that can be built a good one.

mod clasp;
mod latch;
mod list;

use super::choice::{Choices, takes_part};
use super::defaults::{self, Bent};
use super::design::{nearest, shown};
use super::dims::Dims;
use super::numbers::Numbers;
use super::table::Key;
use super::text::Given;
use crate::trade::limits::{BENCH_FILE, State};
use serde::Serialize;

/// How binding a rule is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// A link that breaks it must not be made.
    Refuse,
    /// The maker should know.
    Note,
}

/// What a rule says of a design.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case", tag = "is", content = "why")]
pub enum RuleVerdict {
    /// Holds.
    Pass,
    /// Does not hold.
    Fail,
    /// Cannot be judged from the file.
    Unverified(String),
}

/// One rule applied to one design.
#[derive(Clone, Debug, Serialize)]
pub struct Finding {
    /// Stable word for programs.
    pub rule: &'static str,
    /// In bench words.
    pub title: &'static str,
    /// How binding it is.
    pub severity: Severity,
    /// What it says.
    pub verdict: RuleVerdict,
    /// Value judged.
    pub value: f64,
    /// Range of an estimate; what is measured or chosen has none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub range: Option<[f64; 2]>,
    /// `mm`, `deg` or empty.
    pub unit: &'static str,
    /// Least value, if there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least: Option<f64>,
    /// Largest value, if there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub most: Option<f64>,
    /// Why there is a limit.
    pub reason: &'static str,
    /// Where the limit comes from.
    pub source: &'static str,
    /// Parameters that take part, the usual one to move first.
    pub parameters: Vec<&'static str>,
    /// What to do, when it does not hold.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub change: Option<String>,
}

/// Limits of a rule.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Limits {
    pub(super) least: Option<f64>,
    pub(super) most: Option<f64>,
    /// Whether the maker's own table sets it.
    pub(super) own: bool,
}

impl Limits {
    /// The same, at least this.
    fn over(self, x: f64) -> Self {
        Self { least: self.least.map(|l| l.max(x)), ..self }
    }
}

/// One rule.
pub(super) struct Rule {
    pub(super) id: &'static str,
    pub(super) title: &'static str,
    pub(super) severity: Severity,
    pub(super) unit: &'static str,
    /// The value judged; `None` when the design has nothing to judge.
    pub(super) value: fn(&Numbers, &Dims) -> Option<f64>,
    pub(super) limits: fn(&Numbers, &Dims, State) -> Limits,
    /// Range of an estimate, and what would decide where the limit lies within it.
    pub(super) range: fn(&Dims) -> Option<Range>,
    pub(super) reason: &'static str,
    pub(super) source: &'static str,
    pub(super) keys: &'static [Key],
}

/// Dust of binary fractions: 0.88 - 0.38 is 0.5.
const DUST: f64 = 1e-9;

/// Range of an estimate.
pub(super) struct Range {
    pub(super) low: f64,
    pub(super) high: f64,
    /// In bench words: the number that decides, and how it is found.
    pub(super) decides: fn(&Numbers, &Dims, Limits) -> String,
}

impl Rule {
    /// Pass where the whole range keeps the limits, fail where none of it does.
    fn judged(&self, v: &Numbers, d: &Dims) -> RuleVerdict {
        let Some(x) = (self.value)(v, d) else { return RuleVerdict::Pass };
        let l = (self.limits)(v, d, state(v));
        let range = (self.range)(d);
        let [low, high] = range.as_ref().map_or([x, x], |r| [r.low, r.high]);
        // Written so that a value that is no number does not hold.
        if l.least.is_none_or(|m| low >= m - DUST) && l.most.is_none_or(|m| high <= m + DUST) {
            return RuleVerdict::Pass;
        }
        let open = l.least.is_none_or(|m| high >= m - DUST) && l.most.is_none_or(|m| low <= m + DUST);
        match range {
            Some(r) if open => RuleVerdict::Unverified((r.decides)(v, d, l)),
            _ => RuleVerdict::Fail,
        }
    }
    fn holds(&self, v: &Numbers, d: &Dims) -> bool {
        self.judged(v, d) == RuleVerdict::Pass
    }
}

/// Every rule judged from the numbers of a design.
fn all() -> impl Iterator<Item = &'static Rule> {
    list::RULES.iter().chain(clasp::RULES)
}

/// State of the metal the walls are judged in.
fn state(v: &Numbers) -> State {
    if v[Key::LinkRoute] == 0.0 { State::Finished } else { State::Stock }
}

/// Rules of severity refuse that do not hold.
pub(super) fn refused(v: &Numbers, d: &Dims) -> Vec<&'static str> {
    all().filter(|r| r.severity == Severity::Refuse && !r.holds(v, d)).map(|r| r.id).collect()
}

/// The same with the parameters of each rule.
pub(super) fn broken(v: &Numbers, d: &Dims) -> Vec<(&'static str, &'static [Key])> {
    all().filter(|r| r.severity == Severity::Refuse && !r.holds(v, d)).map(|r| (r.id, r.keys)).collect()
}

/// What a rule finds and asks for, in bench words.
pub(super) fn said(id: &str, v: &Numbers, d: &Dims) -> Option<String> {
    let r = all().find(|r| r.id == id)?;
    let limits = (r.limits)(v, d, state(v));
    let asked = match (limits.least, limits.most) {
        (Some(a), Some(b)) => format!("{a:.2} to {b:.2}"),
        (Some(a), None) => format!("at least {a:.2}"),
        (None, Some(b)) => format!("at most {b:.2}"),
        (None, None) => String::new(),
    };
    let unit = if r.unit.is_empty() { String::new() } else { format!(" {}", r.unit) };
    (r.value)(v, d).map(|x| format!("{}, {x:.2}{unit}, must be {asked}: {}", r.title, r.reason))
}

/// Every rule that applies.
pub(super) fn findings(given: &Given, v: &Numbers, d: &Dims, bent: Bent) -> Vec<Finding> {
    let mut out: Vec<Finding> =
        all().filter_map(|r| (r.value)(v, d).map(|x| finding(r, x, given, v, d, bent))).collect();
    out.extend(list::nickel(v));
    out
}

/// Without dust.
fn clean(x: f64) -> f64 {
    (x * 1e9).round() / 1e9
}

fn finding(r: &Rule, value: f64, given: &Given, v: &Numbers, d: &Dims, bent: Bent) -> Finding {
    let limits = (r.limits)(v, d, state(v));
    let verdict = r.judged(v, d);
    let holds = verdict == RuleVerdict::Pass;
    Finding {
        rule: r.id,
        title: r.title,
        severity: r.severity,
        verdict,
        value: clean(value),
        range: (r.range)(d).map(|r| [clean(r.low), clean(r.high)]),
        unit: r.unit,
        least: limits.least,
        most: limits.most,
        reason: r.reason,
        source: if limits.own { BENCH_FILE } else { r.source },
        parameters: r.keys.iter().filter(|k| takes_part(**k, Choices::of(v))).map(|k| k.path()).collect(),
        change: (!holds).then(|| change(r, given, v, d, bent)).flatten(),
    }
}

/// The first parameter that alone can mend it, and which others could.
///
/// A value counts when this rule then holds, a link can be built, and no other binding rule breaks that held before; only
/// where no single value does that is one offered that breaks another rule, and the text says which.
fn change(r: &Rule, given: &Given, v: &Numbers, d: &Dims, bent: Bent) -> Option<String> {
    let part: Vec<Key> = r.keys.iter().copied().filter(|k| takes_part(*k, Choices::of(v))).collect();
    let before = refused(v, d);
    let mends = |k: Key, harmless: bool| {
        nearest(k, v[k], |x| {
            defaults::would(&given.with(k, x), bent, |w, d| {
                r.holds(w, d)
                    && super::impossible::broken(w, d, given.asks_trial()).is_empty()
                    && (!harmless || refused(w, d).iter().all(|b| before.contains(b)))
            })
        })
    };
    let mut able = part.iter().filter_map(|k| mends(*k, true).map(|x| (*k, x)));
    if let Some((k, x)) = able.next() {
        let rest: Vec<&str> = able.map(|o| o.0.path()).collect();
        return Some(if rest.is_empty() {
            set(k, x)
        } else {
            format!("{}, or change {}", set(k, x), rest.join(" or "))
        });
    }
    if let Some((k, x)) = part.iter().find_map(|k| mends(*k, false).map(|x| (*k, x))) {
        let (w, _) = defaults::resolve(&given.with(k, x));
        let after: Vec<&str> =
            refused(&w, &Dims::of(&w)).into_iter().filter(|b| !before.contains(b)).collect();
        return Some(format!("{}, and then mend {}", set(k, x), after.join(", ")));
    }
    let all: Vec<&str> = part.iter().map(|k| k.path()).collect();
    (!all.is_empty()).then(|| format!("no one value mends it: change {} together", all.join(", ")))
}

/// `set collet.wall to 0.50 mm`.
fn set(k: Key, x: f64) -> String {
    format!("set {} to {} {}", k.path(), shown(k, x), k.spec().unit()).trim_end().to_owned()
}

#[cfg(test)]
mod latch_tests;
#[cfg(test)]
mod tests;
