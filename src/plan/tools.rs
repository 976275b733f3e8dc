//! Drills and burs: for each hole and cut the pilot, then the final tool, and how deep.

use super::bench::Bench;
use super::stock::link_route;
use crate::params::{Design, JointKind, Key};
use crate::parts::Route;
use crate::trade::drills::{metric_below, numbers};
use crate::units::Mm;
use serde::Serialize;

/// One tool for one cut.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Tool {
    /// What is cut.
    pub cut: String,
    /// drill, parallel bur, setting bur, cup bur, ball bur, countersink.
    pub tool: &'static str,
    /// Size wanted.
    pub wanted_mm: f64,
    /// The drill of the drawer, or of the metric series, nearest below; the parallel bur of the drawer; for other burs the wanted size.
    pub take_mm: f64,
    /// Number drill nearest below; drills only.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub number: Option<u32>,
    /// How deep, mm; `None` for through.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub depth_mm: Option<f64>,
    /// How often, over all links.
    pub times: usize,
    /// What to watch.
    pub note: String,
}

/// The tools so far.
pub(super) struct List<'b> {
    bench: &'b Bench,
    out: Vec<Tool>,
}

impl List<'_> {
    pub(super) fn drill(&mut self, cut: &str, wanted: f64, depth: Option<f64>, times: usize, note: &str) {
        let drawer = self.bench.drills.iter().rfind(|d| d.get() <= wanted + 1e-9).copied();
        let take =
            drawer.or_else(|| if self.bench.drills.is_empty() { metric_below(Mm(wanted)) } else { None });
        let missing = take.is_none().then_some("no drill this small is at hand; ");
        let far = take.filter(|t| wanted - t.get() > CLOSE).map(|t| {
            format!(
                "{:.2} less than wanted: open it with a broach, or get a drill of {wanted:.2}; ",
                wanted - t.get()
            )
        });
        self.out.push(Tool {
            cut: cut.to_owned(),
            tool: "drill",
            wanted_mm: wanted,
            take_mm: take.map_or(wanted, Mm::get),
            number: numbers()
                .map(|(n, d)| (n, self.bench.own.or("number_drills", &n.to_string(), "mm", d.get())))
                .filter(|(_, d)| *d <= wanted + 1e-9)
                .max_by(|a, b| a.1.total_cmp(&b.1))
                .map(|n| n.0),
            depth_mm: depth,
            times,
            note: format!("{}{}{note}", missing.unwrap_or_default(), far.unwrap_or_default()),
        });
    }
    pub(super) fn bur(
        &mut self,
        cut: &str,
        tool: &'static str,
        size: f64,
        depth: Option<f64>,
        times: usize,
        note: &str,
    ) {
        let drawer = if tool == "parallel bur" { self.bench.burs.as_slice() } else { &[] };
        let take = drawer.iter().rfind(|b| b.get() <= size + 1e-9).map(|b| b.get());
        let advice = match take {
            None if !drawer.is_empty() => format!("no bur of {size:.2} mm or less is at hand; "),
            Some(t) if size - t > CLOSE => {
                format!("{:.2} less than wanted: draw it along both sides to {size:.2}; ", size - t)
            }
            _ => String::new(),
        };
        self.out.push(Tool {
            cut: cut.to_owned(),
            tool,
            wanted_mm: size,
            take_mm: take.unwrap_or(size),
            number: None,
            depth_mm: depth,
            times,
            note: format!("{advice}{note}"),
        });
    }
}

/// A drill may be this much smaller than the hole, mm; more takes the play of a pin away (proposal).
const CLOSE: f64 = 0.011;
/// Diameter of the cup bur over a claw (0.9 to 1.1 of the wire, common practice).
const CUP: f64 = 1.0;
/// Pilot of a bore, as a share of its width (common practice).
pub(super) const PILOT: f64 = 0.75;
/// A tube's bore is piloted by this much less, mm (common practice).
const UNDER: f64 = 0.13;

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // counts of the file, 0 to 160
fn whole(x: f64) -> usize {
    x.max(0.0) as usize
}

/// The pilot drill of the joint's bores: the hole wanted and the drill nearest below, of the drawer or, where that
/// is empty, of the metric series; `None` where no drill is so small.
#[must_use]
pub fn pilot(design: &Design, drawer: &[Mm]) -> (Mm, Option<Mm>) {
    let wanted = Mm(match design.joint() {
        JointKind::WireLoop => PILOT * design.get(Key::BoreWidth),
        JointKind::HingeTube => design.get(Key::TubeBore) - UNDER,
    });
    let at_hand = drawer.iter().rfind(|d| d.get() <= wanted.get() + 1e-9).copied();
    (wanted, at_hand.or_else(|| if drawer.is_empty() { metric_below(wanted) } else { None }))
}

/// The drills and burs of a design, in the order of the work.
#[must_use]
pub fn tools(design: &Design, bench: &Bench, links: usize, joints: usize) -> Vec<Tool> {
    let d = design.dims();
    let mut l = List { bench, out: Vec::new() };
    let cast = link_route(design) == Route::Cast;
    let g = |k: Key| design.get(k);
    // Every stone has two openings, a seat and four claws, those on our own clasp too.
    let stones = links + if d.clasp.is_some() { whole(g(Key::ClaspCount)) } else { 0 };
    let depth = d.outer_radius(Mm(g(Key::OpeningTop))).get() - g(Key::OpeningStop);
    if cast {
        l.bur(
            "openings, cleaned",
            "parallel bur",
            g(Key::OpeningBur),
            Some(depth),
            2 * stones,
            "cast in; to the stop, no deeper",
        );
    } else {
        l.bur(
            "openings",
            "parallel bur",
            g(Key::OpeningBur),
            Some(depth),
            2 * stones,
            "one stop for all; the corners keep the bur's radius",
        );
    }
    if design.joint() == JointKind::WireLoop {
        let (w, h) = (g(Key::BoreWidth), g(Key::BoreHeight));
        let through = d.wall_horizontal.get();
        let what = if cast { "pilot, cast closed or drilled open" } else { "pilot" };
        l.drill(
            "bore, pilot",
            pilot(design, &bench.drills).0.get(),
            Some(through),
            2 * links,
            &format!(
                "{what}; axis {:.2} over the skin",
                d.wire.as_ref().map_or(0.0, |x| x.bore_floor.get()) + w / 2.0
            ),
        );
        l.bur(
            "bore",
            "parallel bur",
            w,
            Some(through),
            2 * links,
            "on the pilot's axis; the web below is cut once only",
        );
        if h > w + 1e-9 {
            l.bur(
                "bore, drawn up",
                "parallel bur",
                w,
                Some(through),
                2 * links,
                &format!("upwards by {:.2}, towards the stone", h - w),
            );
        }
        l.bur(
            "groove",
            "parallel bur",
            g(Key::GrooveWidth),
            Some(g(Key::GrooveDepth)),
            2 * links,
            "from the skin, square to the end",
        );
        l.bur(
            "web edges",
            "ball bur",
            0.3,
            None,
            2 * links,
            &format!("dressed round to {:.2}", g(Key::WebEdge)),
        );
    } else if let Some(h) = &d.hinge {
        let bore = g(Key::TubeBore);
        l.drill(
            "hinge tube, pilot",
            pilot(design, &bench.drills).0.get(),
            None,
            links,
            "only where the tube was cast or closed up",
        );
        l.drill("hinge tube", bore, None, links, "through the assembled row, oiled; then the pin for size");
        l.bur(
            "recess of the pin bead",
            "ball bur",
            h.pin_bead.get(),
            Some(h.recess_depth.get()),
            joints,
            "one end of the row",
        );
        l.bur(
            "rivet end",
            "countersink",
            1.5 * g(Key::Pin),
            Some(0.25 * g(Key::Pin)),
            joints,
            "90 deg, the other end",
        );
        if cast {
            l.drill("light hole, cleaned", g(Key::LightHole), None, links, "cast in");
        } else {
            l.drill("light hole", g(Key::LightHole), None, links, "before the stone is set");
        }
    }
    super::tools_clasp::clasp(&mut l, design);
    l.bur(
        "seat",
        "setting bur",
        g(Key::Diameter),
        Some(d.rim.get() - d.seat_bottom.get()),
        stones,
        &format!(
            "{:.0} deg, to a mouth of {:.2}; each claw on one mark, {:.2} deep",
            g(Key::BurAngle),
            2.0 * d.seat_radius.get(),
            d.bite.get()
        ),
    );
    l.bur("claw ends", "cup bur", CUP * g(Key::ClawDiameter), None, 4 * stones, "after folding and cutting");
    l.out
}
