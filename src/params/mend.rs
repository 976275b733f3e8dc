//! The cheapest change of a file after which every binding rule holds and a link can be built.
//!
//! Cost: for each parameter moved, its weight times (1 + how far it moves in bench steps of 0.05 mm, 1 degree or one stone; where the
//! drawer says which wires, tubes, drills or burs there are, from one to the next). The 1 is the work of setting up one more change
//! at all. What the file leaves open follows by its own rule at no cost.
//!
//! Search: uniform cost, the cheapest set of changes first, so that the first one that mends everything is the cheapest of all that
//! were looked at. With at most three parameters to move the neighbours are all single hundredths outward: every point of the grid
//! is reached in the order of its cost, and the result is the best there is. With more, a step goes where the first broken rule
//! says: a parameter of that rule moves to the nearest value that mends it, or by one bench step. The result is then drawn back
//! parameter by parameter as far as everything still holds.

mod freedom;

use super::choice::{Choices, takes_part};
use super::defaults;
use super::design::{self, Design, nearest};
use super::dims::Dims;
use super::impossible;
use super::problem::Problem;
use super::rules;
use super::table::{Key, TABLE};
use super::text::{self, Given};
use crate::trade::own::Own;
pub use freedom::{Drawer, Freedom, weight};
use freedom::{bench_step, fine_step};
use serde::Serialize;
use std::cell::Cell;
use std::cmp::Reverse;
use std::collections::{BTreeSet, BinaryHeap};
use std::sync::Arc;

/// Sets of changes judged before the search by cost ends without a result, and before the search for another way does.
const MOST_TRIED: usize = 25_000;
const MOST_TRIED_AGAIN: usize = 6_000;
/// Steps of the straight way down that follows a search by cost without a result.
const DOWN: usize = 40;
/// With at most this many parameters to move, the whole grid is walked.
const FEW: usize = 3;
/// Farthest a parameter is moved on that grid, in hundredths.
const FAR: i64 = 30;
/// Searches of this many sets decide which rules fight.
const TRIED_FOR_CONFLICT: usize = 3_000;
/// Alternatives offered.
const WAYS: usize = 3;

/// One parameter moved.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Change {
    /// Which.
    pub path: &'static str,
    /// What that is, in bench words.
    pub what: &'static str,
    /// What it was, from the file or by its rule.
    pub from: f64,
    /// What it becomes.
    pub to: f64,
    /// `mm`, `deg` or empty.
    pub unit: &'static str,
    /// Whether the eye sees it on the finished line.
    pub seen: bool,
    /// Whether it is a size from the drawer.
    pub from_drawer: bool,
}

/// A set of changes after which every binding rule holds.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Way {
    /// Parameters moved, in the order of the table.
    pub changes: Vec<Change>,
    /// Its cost.
    pub cost: f64,
}

/// One of the rules that fight.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fighting {
    /// Stable word for programs.
    pub rule: String,
    /// What it asks for, in bench words, with the numbers where it first did not hold.
    pub words: String,
}

/// Rules that cannot all hold.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Conflict {
    /// Rules and conditions, none of which can be left out.
    pub fight: Vec<Fighting>,
    /// Parameters that were allowed to move.
    pub moved: Vec<&'static str>,
    /// True where the whole grid was walked; else no way was found among so many tries, which proves nothing.
    pub exhausted: bool,
    /// How many sets of changes were judged.
    pub tried: usize,
}

/// What becomes of a file.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "is")]
pub enum Mended {
    /// Nothing to mend.
    Sound,
    /// Ways out, the cheapest first.
    Ways {
        /// At most three, of different parameters.
        ways: Vec<Way>,
        /// True where the first is the cheapest on the whole grid.
        optimal: bool,
    },
    /// No way out.
    Conflict(Conflict),
}

fn seen(k: Key) -> bool {
    let path = k.path();
    [
        "collet.width",
        "collet.height",
        "collet.foot",
        "collet.corner",
        "claw.",
        "opening.",
        "line.",
        "clasp.count",
        "seat.rim",
    ]
    .iter()
    .any(|p| path.starts_with(p))
}

/// Something that does not hold, and what could mend it.
struct Fault {
    id: String,
    keys: Vec<Key>,
}

/// The sizes that each parameter may take, where the drawer says so.
type Ladders = Vec<(Key, Vec<f64>)>;

struct Problems<'a> {
    given: &'a Given,
    start: Vec<f64>,
    keys: Vec<Key>,
    freedom: &'a Freedom,
    ladders: Ladders,
    /// Only these are asked for, where given.
    asked: Option<&'a [String]>,
    /// Sets of changes judged so far.
    judged: Cell<usize>,
}

type Changes = Vec<(Key, i64)>;

/// What a search found.
struct Found {
    /// The cheapest changes that leave no fault.
    changes: Option<Changes>,
    /// Every fault met, with the changes at which it was met first.
    met: Vec<(String, Changes)>,
    /// Whether the whole grid was walked, up to the result.
    exhausted: bool,
}

fn units(x: f64) -> i64 {
    #[allow(clippy::cast_possible_truncation)]
    let n = (x * 1e6).round() as i64;
    n
}
#[allow(clippy::cast_precision_loss)]
fn value(n: i64) -> f64 {
    n as f64 / 1e6
}

impl Problems<'_> {
    fn changed(&self, c: &Changes) -> Given {
        c.iter().fold(self.given.clone(), |g, (k, n)| g.with(*k, value(*n)))
    }
    fn faults(&self, c: &Changes) -> Vec<Fault> {
        self.judged.set(self.judged.get() + 1);
        let given = self.changed(c);
        let (v, _) = defaults::resolve(&given);
        let d = Dims::of(&v);
        let choices = Choices::of(&v);
        let keys = |list: &[Key]| list.iter().copied().filter(|k| takes_part(*k, choices)).collect();
        let mut out: Vec<Fault> = impossible::broken(&v, &d, given.asks_trial())
            .into_iter()
            .map(|c| Fault { id: format!("impossible.{}", c.code), keys: keys(c.keys) })
            .collect();
        // Where only some are asked for, each is judged by itself: a link that cannot be built is no way to keep a rule.
        if out.is_empty() || self.asked.is_some() {
            out.extend(
                rules::broken(&v, &d)
                    .into_iter()
                    .map(|(id, list)| Fault { id: id.to_owned(), keys: keys(list) }),
            );
        }
        if let Some(asked) = self.asked {
            out.retain(|f| asked.contains(&f.id));
        }
        out
    }
    /// A fault in bench words, with the numbers after these changes.
    fn words(&self, id: &str, c: &Changes) -> String {
        let given = self.changed(c);
        let (v, _) = defaults::resolve(&given);
        let d = Dims::of(&v);
        match id.strip_prefix("impossible.") {
            Some(code) => impossible::broken(&v, &d, given.asks_trial())
                .iter()
                .find(|c| c.code == code)
                .map_or_else(|| id.to_owned(), |c| format!("{}: {}", (c.say)(&v, &d), c.why)),
            None => rules::said(id, &v, &d).unwrap_or_else(|| id.to_owned()),
        }
    }
    fn ladder(&self, k: Key) -> Option<&[f64]> {
        self.ladders.iter().find(|l| l.0 == k).map(|l| l.1.as_slice())
    }
    /// How far a parameter moves: in bench steps, or from one size in the drawer to the next.
    #[allow(clippy::cast_precision_loss)]
    fn steps(&self, k: Key, from: f64, to: f64) -> f64 {
        let (low, high) = (units(from.min(to)), units(from.max(to)));
        match self.ladder(k) {
            // Sizes passed and the one it ends on; the one it leaves is not counted.
            Some(l) => {
                l.iter().filter(|x| (low..=high).contains(&units(**x)) && units(**x) != units(from)).count()
                    as f64
            }
            None => (to - from).abs() / bench_step(k),
        }
    }
    /// The next value of a parameter from `now` on one side, in steps of `step`, or in the drawer.
    fn next(&self, k: Key, now: f64, sign: f64, step: f64) -> Option<f64> {
        match self.ladder(k) {
            Some(l) => {
                let beyond = |x: &&f64| (**x - now) * sign > 1e-9;
                let mut on = l.iter().filter(beyond);
                if sign > 0.0 { on.next().copied() } else { on.next_back().copied() }
            }
            None => Some(value(units(now + sign * step))).filter(|x| Self::inside(k, *x)),
        }
    }
    /// The nearest value on one side that mends.
    fn mending(&self, k: Key, now: f64, sign: f64, mends: impl Fn(f64) -> bool) -> Option<f64> {
        match self.ladder(k) {
            Some(l) => {
                let good = |x: &&f64| (**x - now) * sign > 1e-9 && mends(**x);
                let mut on = l.iter().filter(good);
                if sign > 0.0 { on.next().copied() } else { on.next_back().copied() }
            }
            None => nearest(k, now, |x| (x - now) * sign > 0.0 && mends(x)),
        }
    }
    fn cost(&self, c: &Changes) -> f64 {
        c.iter()
            .map(|(k, n)| {
                let from = self.start.get(*k as usize).copied().unwrap_or_default();
                self.freedom.weight(*k) * (1.0 + self.steps(*k, from, value(*n)))
            })
            .sum()
    }
    /// The same with one parameter at another value; unchanged where it comes back to its start.
    fn set(&self, c: &Changes, k: Key, n: i64) -> Changes {
        let mut out: Changes = c.iter().copied().filter(|x| x.0 != k).collect();
        if units(self.start.get(k as usize).copied().unwrap_or_default()) != n {
            out.push((k, n));
            out.sort_unstable();
        }
        out
    }
    fn now(&self, c: &Changes, k: Key) -> f64 {
        c.iter()
            .find(|x| x.0 == k)
            .map_or_else(|| self.start.get(k as usize).copied().unwrap_or_default(), |x| value(x.1))
    }
    fn inside(k: Key, x: f64) -> bool {
        (k.spec().least..=k.spec().most).contains(&x)
    }
    /// One fine step outward for every parameter: reaches every point of the grid by a way on which the cost never falls.
    fn outward(&self, c: &Changes) -> Vec<Changes> {
        let mut out = Vec::new();
        for k in &self.keys {
            let (start, now) = (self.start.get(*k as usize).copied().unwrap_or_default(), self.now(c, *k));
            for sign in [1.0, -1.0] {
                let Some(next) = self.next(*k, now, sign, fine_step(*k)) else { continue };
                #[allow(clippy::cast_precision_loss)]
                let reach = FAR as f64 * fine_step(*k) + 1e-9;
                let outward = (next - start).abs() > (now - start).abs();
                if outward && (self.ladder(*k).is_some() || (next - start).abs() <= reach) {
                    out.push(self.set(c, *k, units(next)));
                }
            }
        }
        out
    }
    /// Where the first fault says.
    fn guided(&self, c: &Changes, fault: &Fault) -> Vec<Changes> {
        let mut out = Vec::new();
        for k in fault.keys.iter().filter(|k| self.keys.contains(k)) {
            let now = self.now(c, *k);
            let mends = |x: f64| {
                x.total_cmp(&now) != std::cmp::Ordering::Equal
                    && !self.faults(&self.set(c, *k, units(x))).iter().any(|f| f.id == fault.id)
            };
            for sign in [1.0, -1.0] {
                let far = self.mending(*k, now, sign, mends);
                let near = self.next(*k, now, sign, bench_step(*k));
                out.extend(far.into_iter().chain(near).map(|x| self.set(c, *k, units(x))));
            }
        }
        out
    }
    /// The cheapest changes that leave no fault.
    fn search(&self, most: usize) -> Found {
        if self.keys.len() > FEW {
            return self.down(self.walk(false, most));
        }
        let grid = self.walk(true, usize::MAX);
        if grid.changes.is_some() {
            return grid;
        }
        // Beyond the grid a single far value may still do.
        Found { exhausted: true, ..self.down(self.walk(false, most)) }
    }
    /// After a search by cost without a result: straight down, at each step where the fewest faults are left.
    fn down(&self, found: Found) -> Found {
        if found.changes.is_some() || found.exhausted {
            return found;
        }
        // A link that can be built comes before any number of rules.
        let left = |c: &Changes| {
            let f = self.faults(c);
            (f.iter().any(|f| f.id.starts_with("impossible.")), f.len(), units(self.cost(c)))
        };
        let mut known: BTreeSet<Changes> = BTreeSet::new();
        let mut at = Changes::new();
        for _ in 0..DOWN {
            let faults = self.faults(&at);
            let Some(first) = faults.first() else { return Found { changes: Some(at), ..found } };
            let next = self.guided(&at, first).into_iter().filter(|c| !known.contains(c)).min_by_key(left);
            let Some(next) = next else { return found };
            known.insert(next.clone());
            at = next;
        }
        found
    }
    fn walk(&self, whole: bool, most: usize) -> Found {
        let mut open = BinaryHeap::new();
        let mut known: BTreeSet<Changes> = BTreeSet::new();
        let mut met: Vec<(String, Changes)> = Vec::new();
        open.push(Reverse((0, Changes::new())));
        known.insert(Changes::new());
        let before = self.judged.get();
        while let Some(Reverse((_, c))) = open.pop() {
            let faults = self.faults(&c);
            let Some(first) = faults.first() else {
                return Found { changes: Some(c), met, exhausted: whole };
            };
            for f in &faults {
                if !met.iter().any(|m| m.0 == f.id) {
                    met.push((f.id.clone(), c.clone()));
                }
            }
            if self.judged.get() - before > most {
                return Found { changes: None, met, exhausted: false };
            }
            for next in if whole { self.outward(&c) } else { self.guided(&c, first) } {
                if known.insert(next.clone()) {
                    open.push(Reverse((units(self.cost(&next)), next)));
                }
            }
        }
        Found { changes: None, met, exhausted: whole }
    }
    /// Every parameter as near to where it was as all the others let it be.
    fn drawn_back(&self, mut c: Changes) -> Changes {
        loop {
            let before = self.cost(&c);
            for (k, n) in c.clone() {
                let start = self.start.get(k as usize).copied().unwrap_or_default();
                let sign = (value(n) - start).signum();
                // From where it was outward: the first value that will do.
                let mut at = start;
                for _ in 0..=1000 {
                    let here = units(at);
                    let trial = self.set(&c, k, here);
                    if here == n || self.faults(&trial).is_empty() {
                        c = trial;
                        break;
                    }
                    at = self
                        .next(k, at, sign, fine_step(k))
                        .filter(|x| (value(n) - x) * sign > 0.0)
                        .unwrap_or_else(|| value(n));
                }
            }
            if self.cost(&c) >= before - 1e-9 {
                return c;
            }
        }
    }
    fn way(&self, c: &Changes) -> Way {
        let changes = c
            .iter()
            .map(|(k, n)| Change {
                path: k.path(),
                what: k.spec().doc,
                from_drawer: self.ladder(*k).is_some(),
                from: self.start.get(*k as usize).copied().unwrap_or_default(),
                to: value(*n),
                unit: k.spec().unit(),
                seen: seen(*k),
            })
            .collect();
        Way { changes, cost: (self.cost(c) * 1e6).round() / 1e6 }
    }
}

/// Finds the cheapest changes.
///
/// # Errors
/// Every problem of the file that is no matter of dimensions.
pub fn mend(file: &str, freedom: &Freedom) -> Result<Mended, Vec<Problem>> {
    if let Err(p) = design::read_with(file, &[], &freedom.own)
        && !p.iter().all(|p| p.code.starts_with("impossible."))
    {
        return Err(p);
    }
    let (given, _) = text::read(file, &freedom.own);
    let (v, _) = defaults::resolve(&given);
    let keys: Vec<Key> = TABLE
        .iter()
        .map(|s| s.key)
        .filter(|k| freedom.allows(*k) && takes_part(*k, Choices::of(&v)))
        .collect();
    let mut p = Problems {
        given: &given,
        start: TABLE.iter().map(|s| v[s.key]).collect(),
        ladders: keys.iter().filter_map(|k| freedom.ladder(*k).map(|l| (*k, l))).collect(),
        freedom,
        keys,
        asked: None,
        judged: Cell::new(0),
    };
    if p.faults(&Changes::new()).is_empty() {
        return Ok(Mended::Sound);
    }
    let found = p.search(MOST_TRIED);
    let optimal = found.exhausted && p.keys.len() <= FEW;
    let Some(changes) = found.changes else {
        return Ok(Mended::Conflict(conflict(&p, found.met, found.exhausted)));
    };
    let first = p.drawn_back(changes);
    let mut ways = vec![p.way(&first)];
    let all = p.keys.clone();
    // Other ways: the same search without one of the parameters the first way moves.
    for (k, _) in &first {
        if ways.len() == WAYS {
            break;
        }
        p.keys = all.iter().copied().filter(|x| x != k).collect();
        if let Some(c) = p.search(MOST_TRIED_AGAIN).changes {
            let way = p.way(&p.drawn_back(c));
            if !ways.iter().any(|w| w.changes == way.changes) {
                ways.push(way);
            }
        }
    }
    ways.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    Ok(Mended::Ways { ways, optimal })
}

/// Leaves out one rule after the other; what cannot be left out fights.
fn conflict(p: &Problems<'_>, met: Vec<(String, Changes)>, exhausted: bool) -> Conflict {
    let tried = p.judged.get();
    let moved = p.keys.iter().map(|k| k.path()).collect();
    let mut fight: Vec<String> = met.iter().map(|m| m.0.clone()).collect();
    for id in fight.clone() {
        let rest: Vec<String> = fight.iter().filter(|f| **f != id).cloned().collect();
        let narrowed = Problems {
            given: p.given,
            start: p.start.clone(),
            keys: p.keys.clone(),
            freedom: p.freedom,
            ladders: p.ladders.clone(),
            asked: Some(&rest),
            judged: Cell::new(0),
        };
        if narrowed.search(TRIED_FOR_CONFLICT).changes.is_none() {
            fight = rest;
        }
    }
    let fight = met
        .into_iter()
        .filter(|m| fight.contains(&m.0))
        .map(|(rule, at)| Fighting { words: p.words(&rule, &at), rule })
        .collect();
    Conflict { fight, moved, exhausted, tried }
}

/// The file with the changes written in, comments and layout kept.
///
/// # Errors
/// What the text lacks, where it is no object.
pub fn rewritten(file: &str, way: &Way) -> Result<String, String> {
    let edits = way.changes.iter().map(|c| (c.path.to_owned(), Some(c.to.to_string()))).collect();
    super::edit::edited(file, &edits)
}

/// The design after the changes, read from the text that would be written.
///
/// # Errors
/// Every problem of that text.
pub fn after(file: &str, way: &Way, own: &Arc<Own>) -> Result<Design, Vec<Problem>> {
    let text = rewritten(file, way)
        .map_err(|e| vec![Problem::new("text.syntax", "", super::problem::Span::default(), e)])?;
    design::read_with(&text, &[], own)
}

#[cfg(test)]
mod tests;
