//! A way out: the cheapest change of a file after which every binding rule passes.
//!
//! Cost is counted in steps a bench takes, 0.05 mm, or 0.01 for fits, each times a weight that says how much the change is seen
//! or how much work it makes. Stone, wrist, hand, metal, assumptions and tolerances stay, unless they are freed.

use super::defaults::{self, Bent};
use super::dims::Dims;
use super::impossible;
use super::numbers::Numbers;
use super::rules;
use super::table::{Key, Kind, TABLE};
use super::text::{self, Given};
use super::{Problem, choice};
use serde::Serialize;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet, BinaryHeap};

/// Files tried for one set of parameters, and in the search by leaps.
const MOST_TRIED: usize = 60_000;
const MOST_LEAPS: usize = 600;
/// Steps to either side.
const FAR: i32 = 24;
/// Parameters that are varied together with every combination tried.
const TOGETHER: usize = 3;
/// Ways offered.
const WAYS: usize = 3;

/// One change.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Change {
    /// Which parameter.
    #[serde(serialize_with = "as_path")]
    pub path: Key,
    /// Its value before, given or derived.
    pub from: f64,
    /// Its value after.
    pub to: f64,
    /// Steps at the bench.
    pub steps: i32,
    /// What a step weighs.
    pub weight: f64,
}

#[allow(clippy::trivially_copy_pass_by_ref)] // what serde asks for
fn as_path<S: serde::Serializer>(k: &Key, s: S) -> Result<S::Ok, S::Error> {
    s.serialize_str(k.path())
}

/// A way out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Way {
    /// Changes, in the order of the table.
    pub changes: Vec<Change>,
    /// Steps times weights.
    pub cost: f64,
    /// Whether no cheaper one exists with these parameters free, on the bench's steps.
    pub proved_cheapest: bool,
}

/// Something that cannot hold together with something else.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Conflict {
    /// The rule or condition that fails.
    pub rule: String,
    /// A change that alone would mend it, and what would then fail.
    pub against: Vec<Against>,
}

/// What stands against a change.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Against {
    /// The parameter and the value that would mend the rule.
    pub path: &'static str,
    /// That value.
    pub to: f64,
    /// Rules and conditions that fail with it.
    pub breaks: Vec<String>,
}

/// What came of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Mended {
    /// What fails in the file as it is.
    pub failing: Vec<String>,
    /// Ways out, the cheapest first; empty when nothing fails, or nothing was found.
    pub ways: Vec<Way>,
    /// Where no way was found: which rules fight.
    pub conflicts: Vec<Conflict>,
}

/// Sizes that are at hand for a parameter; without an entry any step is.
pub type Drawer = BTreeMap<Key, Vec<f64>>;

/// Sections whose values stay unless they are freed.
const LOCKED: [&str; 7] = ["stone", "wearer", "metal", "wear", "tolerance", "trial", "master"];

/// Weight of a step: 1 for what only the maker sees, more for what the client sees or what moves the whole line.
fn weight(k: Key) -> f64 {
    match k {
        Key::Count | Key::ClaspCount => 12.0,
        Key::Width => 5.0,
        Key::Height | Key::OpeningWidth | Key::OpeningTop | Key::OpeningBottom | Key::ClawDiameter => 2.0,
        Key::FootHalfWidth | Key::Gap | Key::RimLand | Key::CornerRadius => 1.5,
        _ => 1.0,
    }
}

/// The step of a parameter: fits and small things by a hundredth, angles by a degree, all else by 0.05.
fn step(k: Key) -> f64 {
    match k.spec().kind {
        Kind::Count | Kind::Angle => 1.0,
        Kind::Share | Kind::Carat => 0.01,
        _ => match k {
            Key::Gap
            | Key::BoreWidth
            | Key::BoreHeight
            | Key::GrooveDepth
            | Key::GrooveWidth
            | Key::WireFlat
            | Key::WebEdge
            | Key::EndPlay
            | Key::TubeBore
            | Key::TubeHeight
            | Key::PocketClearance
            | Key::SideGap
            | Key::Pin
            | Key::ClaspGap
            | Key::ClaspPin
            | Key::ClaspTubeBore
            | Key::ClaspFront
            | Key::ClaspBack
            | Key::TongueSnap
            | Key::TongueThickness
            | Key::CatchSnap => 0.01,
            _ => 0.05,
        },
    }
}

/// Whether a change mends a rule: it is gone, and no condition has come that hides it.
fn mends(rule: &str, before: &[(String, &'static [Key])], after: &[(String, &'static [Key])]) -> bool {
    !after.iter().any(|f| f.0 == rule)
        && after.iter().filter(|f| f.0.starts_with("impossible.")).all(|f| before.iter().any(|b| b.0 == f.0))
}

/// A file being mended.
struct Job<'d> {
    given: Given,
    bent: Bent,
    start: Numbers,
    free: Vec<Key>,
    drawer: &'d Drawer,
    tried: std::cell::Cell<usize>,
}

/// What fails: codes of conditions and of binding rules, with the parameters of each.
type Failing = Vec<(String, &'static [Key])>;

impl Job<'_> {
    fn failing_with(&self, v: &Numbers, d: &Dims) -> Failing {
        let broken = impossible::broken(v, d, self.given.asks_trial());
        if !broken.is_empty() {
            return broken.into_iter().map(|c| (format!("impossible.{}", c.code), c.keys)).collect();
        }
        rules::refused_with_keys(v, d).into_iter().map(|(id, keys)| (id.to_owned(), keys)).collect()
    }
    /// What fails when these values stand in the file; quickly, with the defaults bent as they are now.
    fn failing(&self, set: &[(Key, f64)]) -> Failing {
        self.tried.set(self.tried.get() + 1);
        let v = defaults::quick(&self.with(set), self.bent);
        let d = Dims::of(&v);
        self.failing_with(&v, &d)
    }
    fn with(&self, set: &[(Key, f64)]) -> Given {
        set.iter().fold(self.given.clone(), |g, (k, x)| g.with(*k, *x))
    }
    /// The same as the file will be read.
    fn holds(&self, set: &[(Key, f64)]) -> bool {
        let (v, _) = defaults::resolve(&self.with(set));
        let d = Dims::of(&v);
        self.failing_with(&v, &d).is_empty()
    }
    /// Values a parameter may be given, the nearest first, each with its number of steps.
    fn values(&self, k: Key) -> Vec<(i32, f64)> {
        let spec = k.spec();
        let now = self.start[k];
        if let Some(sizes) = self.drawer.get(&k) {
            let mut list: Vec<f64> =
                sizes.iter().copied().filter(|x| (spec.least..=spec.most).contains(x)).collect();
            list.sort_by(|a, b| (a - now).abs().total_cmp(&(b - now).abs()));
            let other = list.into_iter().filter(|x| (x - now).abs() > 1e-9);
            return std::iter::once((0, now)).chain((1..).zip(other)).collect();
        }
        let s = step(k);
        let at = |n: i32| ((now + f64::from(n) * s) * 1e4).round() / 1e4;
        std::iter::once((0, now))
            .chain((1..=FAR).flat_map(|n| [(n, at(n)), (n, at(-n))]))
            .filter(|(_, x)| (spec.least..=spec.most).contains(x))
            .collect()
    }
    fn is_free(&self, k: Key) -> bool {
        self.free.contains(&k)
    }

    /// The cheapest values of these parameters, all others as they are; below `limit`. Enumerated by rising cost, so the first
    /// that passes is the cheapest.
    fn cheapest(&self, keys: &[Key], limit: f64) -> (Option<Way>, bool) {
        let lists: Vec<Vec<(i32, f64)>> = keys.iter().map(|k| self.values(*k)).collect();
        let cost = |at: &[usize]| -> f64 {
            at.iter()
                .zip(&lists)
                .zip(keys)
                .map(|((&i, l), k)| l.get(i).map_or(0.0, |v| f64::from(v.0) * weight(*k)))
                .sum()
        };
        // Costs are multiples of a half: as whole numbers they sort without rounding.
        let whole = |c: f64| (c * 2.0).round() as u64;
        let mut heap = BinaryHeap::new();
        let mut seen = BTreeSet::new();
        heap.push(Reverse((0u64, vec![0usize; keys.len()])));
        let mut tried = 0;
        while let Some(Reverse((c, at))) = heap.pop() {
            #[allow(clippy::cast_precision_loss)]
            let c = c as f64 / 2.0;
            if c >= limit {
                return (None, true);
            }
            tried += 1;
            if tried > MOST_TRIED {
                return (None, false);
            }
            let set: Vec<(Key, f64)> = at
                .iter()
                .zip(&lists)
                .zip(keys)
                .filter(|((i, _), _)| **i > 0)
                .filter_map(|((i, l), k)| l.get(*i).map(|v| (*k, v.1)))
                .collect();
            if self.failing(&set).is_empty() && self.holds(&set) {
                return (Some(self.way(&set, true)), true);
            }
            for j in 0..at.len() {
                let mut next = at.clone();
                next[j] += 1;
                if lists.get(j).is_some_and(|l| next[j] < l.len()) && seen.insert(next.clone()) {
                    heap.push(Reverse((whole(cost(&next)), next)));
                }
            }
        }
        (None, true)
    }

    fn way(&self, set: &[(Key, f64)], proved: bool) -> Way {
        let mut changes: Vec<Change> = set
            .iter()
            .map(|(k, x)| Change {
                path: *k,
                from: (self.start[*k] * 1e6).round() / 1e6,
                to: *x,
                steps: self.values(*k).iter().find(|v| (v.1 - x).abs() < 1e-9).map_or(0, |v| v.0),
                weight: weight(*k),
            })
            .collect();
        changes.sort_by_key(|c| c.path);
        let cost = changes.iter().map(|c| f64::from(c.steps) * c.weight).sum();
        Way { changes, cost, proved_cheapest: proved }
    }

    /// Goes from state to state by the least change of one parameter that mends one failing rule, cheapest first.
    fn leap(&self) -> Option<Vec<(Key, f64)>> {
        let mut heap: BinaryHeap<Reverse<(u64, Vec<(Key, u64)>)>> = BinaryHeap::new();
        let mut seen = BTreeSet::new();
        let (bits, back) = (f64::to_bits, f64::from_bits);
        heap.push(Reverse((0, Vec::new())));
        let mut leaps = 0;
        while let Some(Reverse((_, state))) = heap.pop() {
            leaps += 1;
            if leaps > MOST_LEAPS {
                return None;
            }
            let set: Vec<(Key, f64)> = state.iter().map(|(k, b)| (*k, back(*b))).collect();
            let failing = self.failing(&set);
            if failing.is_empty() {
                if self.holds(&set) {
                    return Some(set);
                }
                continue;
            }
            if set.len() > 7 {
                continue;
            }
            for (rule, keys) in failing.iter().take(4) {
                let named: Vec<Key> = keys.iter().copied().filter(|k| self.is_free(*k)).collect();
                // Where those that a rule names do not help, any other may.
                let rest = self.free.iter().copied().filter(|k| !named.contains(k));
                let mut helped = false;
                for (k, by_name) in named.iter().map(|k| (*k, true)).chain(rest.map(|k| (k, false))) {
                    if helped && !by_name {
                        break;
                    }
                    let other: Vec<(Key, f64)> = set.iter().copied().filter(|s| s.0 != k).collect();
                    let now = set.iter().find(|s| s.0 == k).map_or(self.start[k], |s| s.1);
                    let found = self.values(k).into_iter().filter(|v| (v.1 - now).abs() > 1e-9).find(|v| {
                        let mut with = other.clone();
                        with.push((k, v.1));
                        let after = self.failing(&with);
                        mends(rule, failing.as_slice(), &after) && after.len() <= failing.len() + 1
                    });
                    let Some((_, x)) = found else { continue };
                    helped = true;
                    let mut next = other;
                    next.push((k, x));
                    next.sort_by_key(|s| s.0);
                    let cost = self.way(&next, false).cost;
                    let state: Vec<(Key, u64)> = next.iter().map(|(k, x)| (*k, bits(*x))).collect();
                    if seen.insert(state.clone()) {
                        heap.push(Reverse(((cost * 2.0).round() as u64, state)));
                    }
                }
            }
        }
        None
    }

    /// Which failing rules cannot be mended alone without breaking something else, and what.
    fn conflicts(&self, failing: &Failing) -> Vec<Conflict> {
        failing
            .iter()
            .map(|(rule, keys)| {
                let mut against = Vec::new();
                for k in keys.iter().copied().filter(|k| self.is_free(*k)) {
                    let found = self.values(k).into_iter().skip(1).find_map(|v| {
                        let after = self.failing(&[(k, v.1)]);
                        mends(rule, failing, &after).then_some((v.1, after))
                    });
                    if let Some((to, after)) = found {
                        let breaks = after.into_iter().map(|f| f.0).collect();
                        against.push(Against { path: k.path(), to, breaks });
                    }
                }
                Conflict { rule: rule.clone(), against }
            })
            .collect()
    }
}

/// Looks for the cheapest changes after which everything passes. `freed`: parameters of locked sections that may move; `only`:
/// when not empty, nothing but these may.
///
/// # Errors
/// Problems of the text itself: what cannot be read cannot be mended.
pub fn mend(text: &str, freed: &[Key], only: &[Key], drawer: &Drawer) -> Result<Mended, Vec<Problem>> {
    let given = match super::read(text) {
        Ok(_) => text::read(text).0,
        // What can be read and not be built may be mended; what cannot be read, not.
        Err(p) if p.iter().all(|p| p.code.starts_with("impossible.")) => text::read(text).0,
        Err(p) => return Err(p),
    };
    let (start, bent) = defaults::resolve(&given);
    let choices = choice::Choices::of(&start);
    let free = TABLE
        .iter()
        .filter(|s| s.key.is_number() && choice::takes_part(s.key, choices))
        .filter(|s| {
            let head = s.path.split('.').next().unwrap_or_default();
            !LOCKED.contains(&head) || freed.contains(&s.key)
        })
        .map(|s| s.key)
        .filter(|k| only.is_empty() || only.contains(k))
        .collect();
    let job = Job { given, bent, start, free, drawer, tried: std::cell::Cell::new(0) };
    let d = Dims::of(&job.start);
    let failing = job.failing_with(&job.start, &d);
    let names: Vec<String> = failing.iter().map(|f| f.0.clone()).collect();
    if failing.is_empty() {
        return Ok(Mended { failing: names, ways: Vec::new(), conflicts: Vec::new() });
    }
    let ways = ways(&job, &failing);
    let conflicts = if ways.is_empty() { job.conflicts(&failing) } else { Vec::new() };
    Ok(Mended { failing: names, ways, conflicts })
}

fn ways(job: &Job<'_>, failing: &Failing) -> Vec<Way> {
    // With few parameters free, all of them are varied together.
    if job.free.len() <= TOGETHER {
        return job.cheapest(&job.free, f64::INFINITY).0.into_iter().collect();
    }
    let concerned: BTreeSet<Key> =
        failing.iter().flat_map(|f| f.1.iter().copied()).filter(|k| job.is_free(*k)).collect();
    let keys: Vec<Key> = concerned.into_iter().collect();
    let mut found: Vec<Way> = Vec::new();
    let mut best = f64::INFINITY;
    let keep = |w: Way, found: &mut Vec<Way>, best: &mut f64| {
        *best = best.min(w.cost);
        if !found.iter().any(|f| f.changes == w.changes) {
            found.push(w);
        }
    };
    for k in &keys {
        if let (Some(w), _) = job.cheapest(&[*k], f64::INFINITY) {
            keep(w, &mut found, &mut best);
        }
    }
    if found.is_empty() {
        for k in job.free.iter().filter(|k| !keys.contains(k)) {
            if let (Some(w), _) = job.cheapest(&[*k], best) {
                keep(w, &mut found, &mut best);
            }
        }
    }
    for (i, a) in keys.iter().enumerate() {
        for b in keys.iter().skip(i + 1) {
            // A pair is worth its trouble where it costs less than the best, or while nothing was found.
            if let (Some(w), _) = job.cheapest(&[*a, *b], best)
                && w.changes.len() == 2
            {
                keep(w, &mut found, &mut best);
            }
        }
    }
    if found.is_empty()
        && let Some(set) = job.leap()
    {
        let rough = job.way(&set, false);
        let moved: Vec<Key> = set.iter().map(|s| s.0).collect();
        // What a leap overdid is taken back: the cheapest with these parameters, where that can be told.
        let (fine, _) = job.cheapest(&moved, rough.cost);
        found.push(fine.unwrap_or(rough));
    }
    for w in &mut found {
        w.proved_cheapest = false;
    }
    found.sort_by(|a, b| a.cost.total_cmp(&b.cost).then(a.changes.len().cmp(&b.changes.len())));
    found.truncate(WAYS);
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn example(changes: &[(&str, &str)]) -> String {
        let mut text = include_str!("../../params/line-4.0-platinum.jsonc").to_owned();
        for (from, to) in changes {
            assert!(text.contains(from), "{from}");
            text = text.replacen(from, to, 1);
        }
        text
    }

    #[test]
    fn nothing_fails_nothing_is_mended() {
        let m = mend(&example(&[]), &[], &[], &Drawer::new()).unwrap();
        assert!(m.failing.is_empty() && m.ways.is_empty() && m.conflicts.is_empty());
    }

    #[test]
    fn a_low_web_is_raised_by_the_least() {
        let m = mend(&example(&[("\"web_height\": 0.60", "\"web_height\": 0.48")]), &[], &[], &Drawer::new())
            .unwrap();
        assert_eq!(m.failing, ["web.height"]);
        let first = &m.ways[0];
        assert_eq!(first.changes.len(), 1);
        assert_eq!((first.changes[0].path, first.changes[0].to), (Key::WebHeight, 0.53));
    }

    /// With up to three parameters free, every point of the grid is tried here in turn; none that passes is cheaper.
    #[test]
    fn with_three_free_it_is_the_cheapest_of_the_whole_grid() {
        for (text, only) in [
            (
                example(&[("\"width\": 2.5,", "\"width\": 3.0,")]),
                vec![Key::OpeningWidth, Key::OpeningStop, Key::FootHalfWidth],
            ),
            (example(&[("\"top\": 2.05", "\"top\": 2.30")]), vec![Key::OpeningTop, Key::Height]),
            (
                example(&[("\"bore_height\": 0.75", "\"bore_height\": 0.60")]),
                vec![Key::BoreHeight, Key::WebEdge, Key::GrooveDepth],
            ),
        ] {
            let m = mend(&text, &[], &only, &Drawer::new()).unwrap();
            let ours = m.ways.first().map(|w| w.cost);
            let given = text::read(&text).0;
            let (start, bent) = defaults::resolve(&given);
            let drawer = Drawer::new();
            let job = Job {
                given,
                bent,
                start,
                free: only.clone(),
                drawer: &drawer,
                tried: std::cell::Cell::new(0),
            };
            let lists: Vec<_> = only.iter().map(|k| job.values(*k)).collect();
            let mut best: Option<f64> = None;
            let mut all = vec![(0.0, Vec::new())];
            for (l, k) in lists.iter().zip(&only) {
                all = all
                    .iter()
                    .flat_map(|(c, set): &(f64, Vec<(Key, f64)>)| {
                        l.iter().map(move |(n, x)| {
                            let mut s = set.clone();
                            if *n > 0 {
                                s.push((*k, *x));
                            }
                            (c + f64::from(*n) * weight(*k), s)
                        })
                    })
                    .collect();
            }
            for (cost, set) in all {
                if best.is_none_or(|b| cost < b) && job.failing(&set).is_empty() && job.holds(&set) {
                    best = Some(cost);
                }
            }
            assert_eq!(ours, best, "{only:?}");
            assert!(ours.is_some());
        }
    }

    #[test]
    fn a_fight_is_named() {
        // A web of 0.40 with nothing free but the claws' wire: no way, and the rule is named.
        let m = mend(
            &example(&[("\"web_height\": 0.60", "\"web_height\": 0.48")]),
            &[],
            &[Key::ClawDiameter],
            &Drawer::new(),
        )
        .unwrap();
        assert!(m.ways.is_empty());
        assert_eq!(m.conflicts[0].rule, "web.height");
    }

    #[test]
    fn the_drawer_decides_what_sizes_there_are() {
        let text = example(&[("\"wire\": 0.55", "\"wire\": 0.60")]);
        let free = mend(&text, &[], &[Key::Wire], &Drawer::new()).unwrap();
        assert!(free.ways.is_empty() || free.ways[0].changes[0].to <= 0.56);
        let drawer = Drawer::from([(Key::Wire, vec![0.40, 0.53, 0.54, 0.70])]);
        let m = mend(&text, &[], &[Key::Wire], &drawer).unwrap();
        for w in &m.ways {
            assert!([0.53, 0.54].contains(&w.changes[0].to), "{w:?}");
        }
        assert!(!m.ways.is_empty());
    }
}
