//! Solder joints in their order, with a grade for each: no joint may let go while a later one flows.

use super::bench::Bench;
use super::stock::link_route;
use super::stock_clasp::frame_route;
use crate::params::{Design, JointKind, Key};
use crate::parts::Route;
use crate::trade::solders::{STEP, Solder, family, grades, source};
use serde::Serialize;

/// One heat.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Heat {
    /// Number in the order, from 1.
    pub step: usize,
    /// What is joined.
    pub joins: String,
    /// How many joints.
    pub joints: usize,
    /// Solder; `None` where none is left that would be safe.
    pub solder: Option<Solder>,
    /// Degrees between its flow and the lowest solidus of all earlier joints; `None` for the first and within one grade.
    pub below_c: Option<f64>,
    /// What can go wrong, and what keeps it from that.
    pub watch: String,
}

/// The heats of a design.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Soldering {
    /// In order.
    pub heats: Vec<Heat>,
    /// Least distance between the flow of a solder and the solidus of all joints before.
    pub step_c: f64,
    /// Source of the melting ranges.
    pub source: &'static str,
    /// Why no order exists with these solders; `None` when one does.
    pub no_order: Option<String>,
}

/// A heat that is wanted: what, how many, and whether it may share its grade with the one before, the neighbour being shielded.
struct Wanted {
    joins: String,
    joints: usize,
    shares: bool,
    watch: &'static str,
}

/// Puts the joints in order.
#[must_use]
pub fn soldering(design: &Design, bench: &Bench, links: usize, joints: usize) -> Soldering {
    let mut wanted = Vec::new();
    let mut add = |joins: &str, joints: usize, shares: bool, watch: &'static str| {
        wanted.push(Wanted { joins: joins.to_owned(), joints, shares, watch });
    };
    let folding = design.dims().clasp.is_some();
    let frame = frame_route(design) == Some(Route::Fabricated);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 1 to 40
    let stones = if frame { design.get(Key::ClaspCount) as usize } else { 0 };
    let link = link_route(design) == Route::Fabricated;
    if link || frame {
        add(
            "collet seams and claws",
            5 * (if link { links } else { 0 } + stones),
            false,
            "all in one heat a collet; bind the claws; pickle, and quench as the alloy asks",
        );
        if link && design.joint() == JointKind::HingeTube {
            add(
                "knuckles and filled feet",
                4 * links,
                true,
                "the seam beside may run: paint it off, heat from the other side",
            );
        }
    }
    if frame {
        add(
            "frame: rails to collets, cheeks, lug",
            2 * stones + 3,
            true,
            "collets in a row on a plate, rails clamped; the seams of the collets are painted off",
        );
    }
    if folding {
        add(
            "clasp: knuckles to frame, leaf and plate; lug of the plate",
            7,
            true,
            "keep the row straight on a steel pin oiled or blackened; solder away from the bores",
        );
        let (joins, n) = if frame {
            ("clasp: cross bar, side cheniers, ledges, eyes", 7)
        } else {
            ("clasp: side cheniers, ledges, eyes", 6)
        };
        add(joins, n, true, "the knuckles beside may run: paint them off");
    }
    if design.joint() == JointKind::WireLoop {
        add(
            "connecting wires, at the fast link",
            joints,
            false,
            "one joint at a time; paint the free side off or it fuses to the web; cool the neighbour",
        );
    }
    let kind = family(design.metal().key);
    let own = |grade: &str, column: &str, usual: f64| {
        bench.own.or("solders", &format!("{kind} {grade}"), column, usual)
    };
    let list: Vec<Solder> = if bench.solders.is_empty() {
        let table = grades(design.metal().key).into_iter().map(|s| Solder {
            solidus_c: own(&s.grade, "solidus_c", s.solidus_c),
            flow_c: own(&s.grade, "flow_c", s.flow_c),
            grade: s.grade,
        });
        table.collect()
    } else {
        bench.solders.clone()
    };
    let from = if bench.solders.is_empty() { source(kind) } else { "the bench file" };
    order(&wanted, &list, bench.own.or("solders", "any", "step_c", STEP), from)
}

/// One grade for each heat by its number in the list, or what is missing.
fn choose(
    wanted: &[Wanted],
    (list, step): (&[Solder], f64),
    chosen: &mut Vec<usize>,
    best: &mut Option<(usize, Vec<usize>)>,
) {
    let Some(next) = wanted.get(chosen.len()) else {
        let mut levels = chosen.clone();
        levels.dedup();
        // Most grades first: the fewer heats share one, the safer; among these the highest, found first.
        if best.as_ref().is_none_or(|b| levels.len() > b.0) {
            *best = Some((levels.len(), chosen.clone()));
        }
        return;
    };
    let lowest =
        chosen.iter().filter_map(|&i| list.get(i)).map(|s| s.solidus_c).fold(f64::INFINITY, f64::min);
    for (i, s) in list.iter().enumerate() {
        let same = next.shares && chosen.last() == Some(&i);
        if same || s.flow_c <= lowest - step {
            chosen.push(i);
            choose(wanted, (list, step), chosen, best);
            chosen.pop();
        }
    }
}

/// Gives each heat a solder that leaves all earlier joints standing: as many grades as can be, then the highest.
fn order(wanted: &[Wanted], list: &[Solder], step: f64, source: &'static str) -> Soldering {
    let mut best = None;
    choose(wanted, (list, step), &mut Vec::new(), &mut best);
    let mut no_order = None;
    // Without an order: as far as it goes.
    let mut far = wanted.len();
    while best.is_none() && far > 0 {
        far -= 1;
        choose(&wanted[..far], (list, step), &mut Vec::new(), &mut best);
        if let (Some(b), Some(w)) = (&best, wanted.get(far)) {
            let lowest =
                b.1.iter().filter_map(|&i| list.get(i)).map(|s| s.solidus_c).fold(f64::INFINITY, f64::min);
            let coolest = list.iter().map(|s| s.flow_c).fold(f64::INFINITY, f64::min);
            no_order = Some(format!(
                "{}: a solder that flows at {:.0} C or lower is needed, {step:.0} below the solidus of the joints before; the easiest at hand flows at {coolest:.0} C. \
                 Cast the part instead of building it, or find an easier grade",
                w.joins,
                lowest - step
            ));
        }
    }
    let chosen = best.map(|b| b.1).unwrap_or_default();
    let mut lowest: Option<f64> = None;
    let heats = wanted
        .iter()
        .enumerate()
        .map(|(i, w)| {
            let solder = chosen.get(i).and_then(|&k| list.get(k)).cloned();
            let below_c = match (&solder, lowest) {
                (Some(s), Some(l)) if s.flow_c <= l => Some(l - s.flow_c),
                _ => None,
            };
            if let Some(s) = &solder {
                lowest = Some(lowest.map_or(s.solidus_c, |l: f64| l.min(s.solidus_c)));
            }
            Heat {
                step: i + 1,
                joins: w.joins.clone(),
                joints: w.joints,
                solder,
                below_c,
                watch: w.watch.to_owned(),
            }
        })
        .collect();
    Soldering { heats, step_c: step, source, no_order }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn want(shares: &[bool]) -> Vec<Wanted> {
        shares.iter().map(|&s| Wanted { joins: "x".into(), joints: 1, shares: s, watch: "" }).collect()
    }

    #[test]
    fn each_heat_flows_twenty_below_every_earlier_solidus() {
        // Silver: hard then easy (723 <= 745 - 20), no medium between them; a third heat finds nothing.
        let s = order(&want(&[false, false]), &grades("silver925"), STEP, "");
        let names: Vec<_> = s.heats.iter().map(|h| h.solder.clone().unwrap().grade).collect();
        assert_eq!(names, ["hard", "easy"]);
        assert_eq!(s.heats[1].below_c, Some(22.0));
        let s = order(&want(&[false, false, false]), &grades("silver925"), STEP, "");
        assert!(s.no_order.as_ref().is_some_and(|w| w.contains("685 C")), "{:?}", s.no_order);
        // 18 ct: hard, medium; easy would be 15 below only.
        let s = order(&want(&[false, false, false]), &grades("gold750_yellow"), STEP, "");
        assert!(s.heats[1].solder.as_ref().is_some_and(|x| x.grade == "medium") && s.no_order.is_some());
        let s = order(&want(&[false, false, false]), &grades("platinum950_ru"), STEP, "");
        assert!(s.no_order.is_none());
    }

    #[test]
    fn a_heat_that_may_shares_the_grade_only_where_it_must() {
        let s = order(&want(&[false, true, true, false]), &grades("silver925"), STEP, "");
        let names: Vec<_> = s.heats.iter().map(|h| h.solder.clone().unwrap().grade).collect();
        assert_eq!(names, ["hard", "hard", "hard", "easy"]);
        let s = order(&want(&[false, true, false]), &grades("platinum950_ru"), STEP, "");
        let names: Vec<_> = s.heats.iter().map(|h| h.solder.clone().unwrap().grade).collect();
        assert_eq!(names, ["hard 1500", "medium 1300", "easy 1100"]);
    }

    #[test]
    fn the_order_is_one_that_a_search_over_all_orders_also_finds() {
        for metal in ["silver925", "gold750_yellow", "platinum950_ru"] {
            let list = grades(metal);
            for n in 1..=4usize {
                let greedy = order(&want(&vec![false; n]), &list, STEP, "").no_order.is_none();
                // Every strictly descending choice of n grades.
                let any = (0u32..1 << list.len()).filter(|m| m.count_ones() as usize == n).any(|m| {
                    let chosen: Vec<&Solder> =
                        list.iter().enumerate().filter(|(i, _)| m >> i & 1 == 1).map(|x| x.1).collect();
                    chosen
                        .iter()
                        .enumerate()
                        .all(|(i, s)| chosen[..i].iter().all(|earlier| s.flow_c <= earlier.solidus_c - STEP))
                });
                assert_eq!(greedy, any, "{metal} {n}");
            }
        }
    }
}
