//! The rules of the trade: what makes a link that can be built a good one.

mod list;

use super::defaults;
use super::design::{nearest, shown};
use super::dims::Dims;
use super::numbers::Numbers;
use super::table::{Key, Part};
use super::text::Given;
use crate::trade::limits::State;
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
#[derive(Clone, Copy, Debug)]
pub(super) struct Limits {
    pub(super) least: Option<f64>,
    pub(super) most: Option<f64>,
}

/// One rule.
pub(super) struct Rule {
    pub(super) id: &'static str,
    pub(super) title: &'static str,
    pub(super) part: Part,
    pub(super) severity: Severity,
    pub(super) unit: &'static str,
    /// The value judged; `None` when the design has nothing to judge.
    pub(super) value: fn(&Numbers, &Dims) -> Option<f64>,
    pub(super) limits: fn(&Numbers, &Dims, State) -> Limits,
    pub(super) reason: &'static str,
    pub(super) source: &'static str,
    pub(super) keys: &'static [Key],
}

/// Dust of binary fractions: 0.88 - 0.38 is 0.5.
const DUST: f64 = 1e-9;

impl Rule {
    /// The value judged, if the rule speaks of this link.
    fn judged(&self, v: &Numbers, d: &Dims) -> Option<f64> {
        v.has(self.part).then(|| (self.value)(v, d)).flatten()
    }
    fn holds(&self, v: &Numbers, d: &Dims) -> bool {
        let Some(x) = self.judged(v, d) else { return true };
        let l = (self.limits)(v, d, state(v));
        // Written so that a value that is no number does not hold.
        l.least.is_none_or(|m| x >= m - DUST) && l.most.is_none_or(|m| x <= m + DUST)
    }
}

/// State of the metal the walls are judged in.
fn state(v: &Numbers) -> State {
    if v[Key::LinkRoute] == 0.0 { State::Finished } else { State::Stock }
}

/// Rules of severity refuse that do not hold.
pub(super) fn refused(v: &Numbers, d: &Dims) -> Vec<&'static str> {
    list::RULES.iter().filter(|r| r.severity == Severity::Refuse && !r.holds(v, d)).map(|r| r.id).collect()
}

/// Every rule that applies.
pub(super) fn findings(given: &Given, v: &Numbers, d: &Dims) -> Vec<Finding> {
    let mut out: Vec<Finding> =
        list::RULES.iter().filter_map(|r| r.judged(v, d).map(|x| finding(r, x, given, v, d))).collect();
    out.extend(list::nickel(v));
    out
}

fn finding(r: &Rule, value: f64, given: &Given, v: &Numbers, d: &Dims) -> Finding {
    let limits = (r.limits)(v, d, state(v));
    let holds = r.holds(v, d);
    Finding {
        rule: r.id,
        title: r.title,
        severity: r.severity,
        verdict: if holds { RuleVerdict::Pass } else { RuleVerdict::Fail },
        value: (value * 1e9).round() / 1e9,
        unit: r.unit,
        least: limits.least,
        most: limits.most,
        reason: r.reason,
        source: r.source,
        parameters: r.keys.iter().map(|k| k.path()).collect(),
        change: (!holds).then(|| change(r, given, v)).flatten(),
    }
}

/// The first parameter that alone can mend it, and what else could give way.
fn change(r: &Rule, given: &Given, v: &Numbers) -> Option<String> {
    let mends = |k: Key| {
        nearest(k, v[k], |x| {
            let (w, _) = defaults::resolve(&given.with(k, x));
            let d = Dims::of(&w);
            r.holds(&w, &d) && super::impossible::broken(&w, &d).is_empty()
        })
        .map(|x| (k, x))
    };
    let best = r.keys.iter().copied().find_map(mends);
    let others = |k: Key| r.keys.iter().filter(|o| **o != k).map(|o| o.path()).collect::<Vec<_>>().join(", ");
    match best {
        Some((k, x)) => {
            let unit = k.spec().unit();
            let value = format!("set {} to {} {unit}", k.path(), shown(k, x));
            let rest = others(k);
            Some(if rest.is_empty() {
                value.trim_end().to_owned()
            } else {
                format!("{}, or change {rest}", value.trim_end())
            })
        }
        None if r.keys.is_empty() => None,
        None => Some(format!(
            "change {} together",
            r.keys.iter().map(|k| k.path()).collect::<Vec<_>>().join(", ")
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::params::read;

    const A: &str = include_str!("../../../params/line-4.0-platinum.jsonc");

    const B: &str = include_str!("../../../params/line-2.5-yellow.jsonc");

    /// A design with some values replaced.
    fn with(base: &str, changes: &[(&str, &str)]) -> String {
        let mut text = base.to_owned();
        for (path, value) in changes {
            let (section, leaf) = path.split_once('.').unwrap();
            let at = text.find(&format!("\"{section}\": {{")).unwrap_or_else(|| panic!("{section}"));
            let key = format!("\"{leaf}\":");
            let k = at + text[at..].find(&key).unwrap_or_else(|| panic!("{path}")) + key.len();
            let end = k + text[k..].find(|c: char| ",\n}".contains(c)).unwrap();
            text.replace_range(k..end, &format!(" {value}"));
        }
        text
    }

    fn verdict(text: &str, rule: &str) -> Result<RuleVerdict, String> {
        let design = read(text).map_err(|p| format!("{rule}: {}", p[0].message))?;
        let found = design.findings().into_iter().find(|f| f.rule == rule).ok_or(format!("no {rule}"))?;
        if found.verdict == RuleVerdict::Fail && found.change.is_none() {
            return Err(format!("{rule}: no way out"));
        }
        Ok(found.verdict)
    }

    #[test]
    fn set_a_passes_every_rule_and_each_rule_can_fail() {
        for f in read(A).unwrap().findings() {
            assert_eq!(f.verdict, RuleVerdict::Pass, "{}: {} {:?} {:?}", f.rule, f.value, f.least, f.most);
        }
        let trips: &[(&str, &[(&str, &str)])] = &[
            ("wall.skin", &[("collet.wall", "0.38"), ("joint.web_edge", "0.15"), ("seat.rim_land", "0.25")]),
            ("wall.rim_land", &[("seat.rim_land", "0.19")]),
            ("wall.over_opening", &[("opening.top", "2.20")]),
            ("wall.end_metal", &[("opening.width", "2.6")]),
            ("web.height", &[("joint.web_height", "0.48")]),
            ("web.depth", &[("collet.wall", "0.39"), ("joint.web_edge", "0.15"), ("seat.rim_land", "0.25")]),
            ("bore.crown", &[("joint.bore_height", "1.25")]),
            ("bore.beside", &[("opening.stop", "0.58")]),
            ("claw.wire", &[("claw.diameter", "0.58")]),
            ("claw.bite", &[("collet.width", "3.9"), ("claw.diameter", "1.1"), ("collet.wall", "0.60")]),
            ("claw.bite_usual", &[("claw.diameter", "0.85")]),
            ("opening.rail", &[("opening.bottom", "0.58")]),
            ("opening.bur", &[]),
            ("claw.foot", &[("collet.foot_half_width", "1.85")]),
            ("gap.least", &[("line.gap", "0.07")]),
            ("gap.most", &[("line.gap", "0.22")]),
            ("joint.wire_play", &[("joint.bore_width", "0.65")]),
            ("joint.leg_in_groove", &[("joint.groove_width", "0.60")]),
            ("joint.leg_through_bore", &[("joint.wire_flat", "0.40")]),
            ("joint.flush", &[("joint.groove_depth", "0.51")]),
            ("turn.wrist", &[("joint.bore_height", "0.60")]),
            ("turn.clasp", &[("clasp.count", "9")]),
            ("turn.back", &[("line.gap", "0.58")]),
            ("stone.wire", &[("collet.height", "2.4"), ("opening.top", "1.7"), ("opening.bur", "0.8")]),
            (
                "joint.loops",
                &[
                    ("joint.wire", "1.2"),
                    ("joint.wire_flat", "0.95"),
                    ("joint.bore_width", "1.25"),
                    ("joint.bore_height", "1.25"),
                    ("collet.wall", "0.60"),
                    ("trial.gap", "0"),
                    ("trial.bore_offset", "0"),
                ],
            ),
            (
                "stone.culet",
                &[
                    ("collet.height", "2.05"),
                    ("opening.top", "1.4"),
                    ("opening.bur", "0.5"),
                    ("joint.bore_height", "0.62"),
                    ("trial.gap", "0"),
                    ("trial.bore_offset", "0"),
                ],
            ),
            ("line.ease", &[("wearer.wrist", "170")]),
            ("stone.weight", &[("stone.carat", "0.40")]),
            ("stone.girdles", &[("collet.width", "4.0"), ("stone.tolerance", "0.1"), ("line.gap", "0.1")]),
            ("stone.stop", &[("collet.width", "4.05")]),
            ("opening.edge", &[("opening.width", "2.7"), ("opening.stop", "0.62")]),
        ];
        let (mut seen, mut wrong): (Vec<&str>, Vec<String>) = (Vec::new(), Vec::new());
        for (rule, changes) in trips {
            seen.push(rule);
            if changes.is_empty() {
                continue;
            }
            let base = if *rule == "claw.wire" { B } else { A };
            let said = verdict(&with(base, changes), rule);
            if said != Ok(RuleVerdict::Fail) {
                wrong.push(format!("{rule}: {said:?}"));
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
        for r in list::RULES {
            assert!(seen.contains(&r.id), "{} has no test that trips it", r.id);
        }
    }

    #[test]
    fn the_bur_must_fit_the_height_of_the_opening() {
        // A bur that does not fit is no link at all, so the rule is tripped on bare numbers.
        let design = read(A).unwrap();
        let rule = list::RULES.iter().find(|r| r.id == "opening.bur").unwrap();
        assert!(rule.holds(&design_numbers(&design, None), design.dims()));
        assert!(!rule.holds(&design_numbers(&design, Some(1.4)), design.dims()));
    }

    fn design_numbers(d: &crate::params::Design, bur: Option<f64>) -> Numbers {
        let mut n = Numbers::zero();
        for s in &super::super::table::TABLE {
            n[s.key] = d.get(s.key);
        }
        if let Some(b) = bur {
            n[Key::OpeningBur] = b;
        }
        n
    }

    #[test]
    fn nickel_on_the_skin_is_unverified() {
        let v = verdict(&with(A, &[("metal.alloy", "\"gold750_white_nickel\"")]), "metal.nickel").unwrap();
        assert!(matches!(v, RuleVerdict::Unverified(why) if why.contains("EN 1811")));
    }
}
