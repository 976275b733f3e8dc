//! One or two parameters varied: what each value does to weight, walls, turn, life and cost.

use super::bench::Bench;
use super::clasp_mass::clasp_mass;
use super::plan_with;
use crate::life::wear::{BAND, joint_years};
use crate::mesh::exact::solid_mass;
use crate::params::{self, Design, Key, RuleVerdict, Severity};
use crate::parts::link::{self, LinkShape};
use crate::walls::Judgement;
use rayon::prelude::*;
use serde::Serialize;

/// Most designs compared in one run.
pub const MOST: usize = 400;

/// A parameter and the values it is given.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Vary {
    /// Its path.
    pub path: String,
    /// Its values.
    pub values: Vec<f64>,
}

impl Vary {
    /// Reads `path=from..to:step`, `path=a,b,c` or `path=a`.
    ///
    /// # Errors
    /// In words, what is wrong and what would work.
    pub fn read(text: &str) -> Result<Self, String> {
        let usual = "write path=from..to:step, such as collet.wall=0.40..0.70:0.05, or path=a,b,c";
        let (path, list) = text.split_once('=').ok_or_else(|| format!("\"{text}\" has no =; {usual}"))?;
        let path = path.trim();
        let key = Key::at(path).ok_or_else(|| format!("there is no parameter \"{path}\""))?;
        if !key.is_number() {
            return Err(format!("{path} is no number and cannot be varied"));
        }
        let number = |s: &str| {
            s.trim()
                .parse::<f64>()
                .ok()
                .filter(|x| x.is_finite())
                .ok_or_else(|| format!("\"{s}\" is not a number; {usual}"))
        };
        let values = if let Some((from, rest)) = list.split_once("..") {
            let (to, step) =
                rest.split_once(':').ok_or_else(|| format!("\"{list}\" has no step; {usual}"))?;
            let (from, to, step) = (number(from)?, number(to)?, number(step)?);
            if step <= 0.0 || to < from {
                return Err(format!("\"{list}\" does not climb; {usual}"));
            }
            let count = ((to - from) / step + 1e-9).floor();
            if count >= MOST as f64 {
                return Err(format!("\"{list}\" has {count:.0} values; at most {MOST} are compared"));
            }
            // Each from the first, rounded to a nanometre, so that 0.40 + 6 x 0.05 is 0.70.
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            (0..=count as u32).map(|k| ((from + f64::from(k) * step) * 1e6).round() / 1e6).collect()
        } else {
            list.split(',').map(number).collect::<Result<Vec<f64>, _>>()?
        };
        if values.is_empty() || values.len() > MOST {
            return Err(format!("1 to {MOST} values are compared; {usual}"));
        }
        Ok(Self { path: path.to_owned(), values })
    }
}

/// What is known of one design.
#[derive(Clone, Debug, Serialize)]
pub struct Compared {
    /// The varied values, in the order of the parameters.
    pub values: Vec<f64>,
    /// `pass`, `fail`, `unverified`; `refused` where the file is none, `not_built` where there is no solid.
    pub verdict: &'static str,
    /// Why it is not `pass`; the first reason.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// What could be measured; empty for designs that cannot be built.
    #[serde(flatten)]
    pub measures: Option<Measures>,
}

/// Measures of a design that was built.
#[derive(Clone, Debug, Serialize)]
pub struct Measures {
    /// Finished metal of the whole.
    pub finished_g: f64,
    /// Flat length.
    pub length_mm: f64,
    /// Ease on the wrist.
    pub ease_mm: f64,
    /// Least margin over its limit of all named walls: value over limit.
    pub wall_margin: f64,
    /// Which wall that is.
    pub wall: String,
    /// Its thickness.
    pub wall_mm: f64,
    /// How the clasp is weighed: `solids`, `estimate`, or `bought`: not in the sum.
    pub clasp_by: &'static str,
    /// Inward turn of a joint, in closed form.
    pub inward_deg: f64,
    /// Outward turn, in closed form.
    pub outward_deg: f64,
    /// Years until the first joint is renewed, middle of its range.
    pub life_years: Option<f64>,
    /// The range: at ten times and at a tenth of the wear coefficient.
    pub life_range_years: Option<[f64; 2]>,
    /// Cost by the bench file, where it has prices.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cost: Option<f64>,
}

/// All combinations of the values, in order, the last parameter fastest.
#[must_use]
pub fn grid(vary: &[Vary]) -> Vec<Vec<f64>> {
    vary.iter().fold(vec![Vec::new()], |all, v| {
        all.iter()
            .flat_map(|head| {
                v.values.iter().map(|x| {
                    let mut row = head.clone();
                    row.push(*x);
                    row
                })
            })
            .collect()
    })
}

/// Compares the designs of a grid, in parallel, in the grid's order; `exact` weighs each clasp by its solids. `done` is called
/// after each with the number finished.
#[must_use]
pub fn compare(
    text: &str,
    vary: &[Vary],
    bench: &Bench,
    exact: bool,
    done: &(dyn Fn(usize) + Sync),
) -> Vec<Compared> {
    let finished = std::sync::atomic::AtomicUsize::new(0);
    grid(vary)
        .into_par_iter()
        .map(|values| {
            let set: Vec<(Key, f64)> =
                vary.iter().zip(&values).filter_map(|(v, x)| Key::at(&v.path).map(|k| (k, *x))).collect();
            let out = one(text, &set, values, (bench, exact));
            done(finished.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1);
            out
        })
        .collect()
}

fn one(text: &str, set: &[(Key, f64)], values: Vec<f64>, how: (&Bench, bool)) -> Compared {
    let bare =
        |verdict, why: String| Compared { values: values.clone(), verdict, why: Some(why), measures: None };
    let design = match params::read_with(text, set, &how.0.own) {
        Ok(d) => d,
        Err(p) => {
            let why = p.first().map_or_else(String::new, |p| p.message.clone());
            return bare("refused", why);
        }
    };
    match link::build(&LinkShape::finished(&design)) {
        Ok(built) => measured(&design, &built, values, how),
        Err(e) => bare("not_built", e.to_string()),
    }
}

fn measured(
    design: &Design,
    built: &link::Built,
    values: Vec<f64>,
    (bench, exact): (&Bench, bool),
) -> Compared {
    let walls = link::wear_points(&built.solid, &built.shape, design.state(), design.own());
    let thin = walls
        .iter()
        .filter_map(|w| w.value_mm.map(|x| (x / w.limit_mm, x, w)))
        .min_by(|a, b| a.0.total_cmp(&b.0));
    let rules = design.findings();
    let broken = rules
        .iter()
        .filter(|r| r.severity == Severity::Refuse && r.verdict != RuleVerdict::Pass)
        .map(|r| (matches!(r.verdict, RuleVerdict::Fail), r.title.to_owned()));
    let weak = walls
        .iter()
        .filter(|w| w.verdict != Judgement::Pass)
        .map(|w| (w.verdict == Judgement::Fail, format!("{}, {}", w.class, w.point)));
    let bad: Vec<(bool, String)> = broken.chain(weak).collect();
    let verdict = match (bad.is_empty(), bad.iter().any(|b| b.0)) {
        (true, _) => "pass",
        (_, true) => "fail",
        _ => "unverified",
    };
    // A clasp that cannot be built is weighed by estimate, and the row says so.
    let clasp = if exact { clasp_mass(design).and_then(Result::ok) } else { None };
    let p = plan_with(design, bench, solid_mass(&built.solid), clasp.as_ref(), None);
    let life = Some(joint_years(design)).filter(|y| y.is_finite());
    let d = design.dims();
    Compared {
        values,
        verdict,
        why: bad.first().map(|b| b.1.clone()),
        measures: Some(Measures {
            finished_g: p.metal.finished_g,
            length_mm: p.line.length_mm,
            ease_mm: p.line.ease_mm,
            wall_margin: thin.map_or(f64::NAN, |t| t.0),
            wall: thin.map_or_else(String::new, |t| t.2.class.to_owned()),
            wall_mm: thin.map_or(f64::NAN, |t| t.1),
            clasp_by: match (&d.clasp, &clasp) {
                (None, _) => "bought",
                (_, Some(_)) => "solids",
                _ => "estimate",
            },
            inward_deg: d.turn_inward.get(),
            outward_deg: d.turn_outward.get(),
            life_years: life,
            life_range_years: life.map(|y| [y / BAND, y * BAND]),
            cost: (p.cost.without_price < p.cost.lines.len()).then_some(p.cost.sum),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_lists_and_their_faults() {
        let v = Vary::read("collet.wall=0.40..0.70:0.05").unwrap();
        assert_eq!(v.values, [0.40, 0.45, 0.50, 0.55, 0.60, 0.65, 0.70]);
        assert_eq!(Vary::read("line.gap=0.10,0.12").unwrap().values, [0.10, 0.12]);
        for bad in [
            "collet.wall",
            "wall=1",
            "collet.shape=1",
            "collet.wall=0.4..0.7",
            "collet.wall=0.7..0.4:0.1",
            "collet.wall=x",
            "collet.wall=0..1:0.0001",
        ] {
            assert!(Vary::read(bad).is_err(), "{bad}");
        }
        assert_eq!(grid(&[v, Vary::read("line.gap=0.1,0.2").unwrap()]).len(), 14);
    }
}
