//! What of a design is cast: the link, the frame of the clasp; each as a pattern with its dimensions and findings.

use super::compensation::Compensation;
use super::flow::Flow;
use super::judged::{Judged, judged, judged_frame, process};
use super::manifest::links;
use super::pattern::{Pattern, pattern};
use crate::params::{Design, Key};
use crate::parts::clasp::FrameMaster;
use crate::parts::link::{Dimension, Master};
use crate::trade::casting::NECK_SHARE;
use crate::trade::limits::State;
use crate::units::{Mm, Tolerance};

/// One kind of casting.
#[derive(Clone, Debug)]
pub struct Casting {
    /// Name of the part, also the stem of its files.
    pub part: &'static str,
    /// In bench words.
    pub title: &'static str,
    /// How many a bracelet has.
    pub count: usize,
    /// What is printed.
    pub pattern: Pattern,
    /// Named dimensions.
    pub dimensions: Vec<Dimension>,
    /// What process and foundry ask.
    pub rules: Vec<Judged>,
    /// How it fills and freezes, as far as its shape tells.
    pub flow: Option<Flow>,
}

/// What of a design is cast and `wanted` by its name, built and enlarged; or why there is nothing.
///
/// # Errors
/// In bench words.
pub fn castings(
    design: &Design,
    tolerance: Tolerance,
    wanted: &dyn Fn(&str) -> bool,
) -> Result<(Compensation, Vec<Casting>), String> {
    let broken = design.broken();
    if !broken.is_empty() {
        return Err(format!(
            "no master is made of a link that breaks a binding rule ({}); the check command tells what to change",
            broken.join("; ")
        ));
    }
    let c = Compensation::of(design);
    let widest = c.factors.iter().fold(c.factors[0], |a, b| a.max(*b));
    // What the printer closes is added in the pattern's size, not the casting's.
    let hole = Mm(2.0 * design.get(Key::HoleCloses) / widest);
    let mut out = Vec::new();
    if design.state() != State::Stock && wanted("link") {
        let master = Master::of(design, hole);
        let build = |k: f64| master.scaled(k).build().map(|b| b.solid);
        out.push(Casting {
            part: "link",
            title: "link",
            count: links(design),
            pattern: pattern(build, c.factors, tolerance).map_err(|e| format!("the link: {e}"))?,
            flow: None,
            rules: judged(design, &master),
            dimensions: master.dimensions,
        });
    }
    if let Some(frame) = FrameMaster::of(design, hole).filter(|_| wanted("clasp.frame")) {
        let made = pattern(|k| frame.build(k), c.factors, tolerance);
        out.push(Casting {
            part: "clasp.frame",
            title: "frame of the clasp",
            count: 1,
            pattern: made.map_err(|e| format!("the frame of the clasp: {e}"))?,
            flow: None,
            rules: judged_frame(design, &frame),
            dimensions: frame.dimensions,
        });
    }
    if out.is_empty() {
        return Err(
            "nothing of what is asked for is cast: link and frame of the clasp are, where link.route and clasp.frame.route say \
             so; plate, leaf, tongue and pins are built from stock"
                .to_owned(),
        );
    }
    Ok((c, out))
}

/// Share of a heavy place that the metal it is fed through should have.
#[must_use]
pub fn neck_share(design: &Design) -> f64 {
    design.own().or("casting", "neck", "least_share", NECK_SHARE)
}

/// Looks at how each casting fills and freezes; takes a second or so each.
pub fn look_at_flow(design: &Design, list: &mut [Casting]) {
    let p = process(design);
    let share = neck_share(design);
    for c in list {
        c.flow = Flow::of(&c.pattern.solid, c.pattern.checked.exact.volume, &p, share);
    }
}
