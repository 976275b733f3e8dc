//! What of a design is cast: the link, the frame of the clasp; each as a pattern with its dimensions and findings.

use super::compensation::Compensation;
use super::flow::Flow;
use super::judged::{Judged, judged, judged_frame, process};
use super::manifest::links;
use super::pattern::{Pattern, pattern, volume};
use super::stub::{self, Asked, Enlarged, Stub};
use crate::params::{Design, Key};
use crate::parts::clasp::FrameMaster;
use crate::parts::link::{Dimension, Master};
use crate::solid::Tree;
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
    /// What is printed, the stub of the sprue with it.
    pub pattern: Pattern,
    /// Volume of its mesh without the stub, mm3.
    pub part_volume: f64,
    /// The stub, where the file asks for one.
    pub stub: Option<Stub>,
    /// Named dimensions.
    pub dimensions: Vec<Dimension>,
    /// What process and foundry ask.
    pub rules: Vec<Judged>,
    /// How it fills and freezes, as far as its shape tells.
    pub flow: Option<Flow>,
}

impl Casting {
    /// Joins the stub that the file asks for, where it asks for one.
    fn join(&mut self, design: &Design, tolerance: Tolerance, build: &Enlarged<'_>) -> Result<(), String> {
        let Some(asked) = Asked::of(design) else { return Ok(()) };
        let told = |e: String| format!("the {}: {e}", self.title);
        self.flow = self.looked_at(design);
        let fed = self.flow.as_ref().and_then(|f| Some((f.sprue.clone()?, f.heavy.first()?.sphere_mm)));
        let Some((sprue, heaviest)) = fed else { return Err(told(stub::no_place(asked))) };
        let (stub, pattern) = stub::join(asked, &self.pattern, &sprue, tolerance, build).map_err(told)?;
        self.rules.extend(stub::judged(design, &stub, &sprue, heaviest));
        (self.pattern, self.stub) = (pattern, Some(stub));
        Ok(())
    }
    /// How it fills and freezes, without a stub.
    fn looked_at(&self, design: &Design) -> Option<Flow> {
        let stub = Asked::of(design).map(|a| a.diameter);
        let volume = self.pattern.checked.exact.volume;
        Flow::of(&self.pattern.solid, volume, &process(design), neck_share(design), stub)
    }
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
        let build = |k: f64, more: &[Tree]| master.scaled(k).build_with(more).map(|b| b.solid);
        let made = pattern(|k| build(k, &[]), c.factors, tolerance).map_err(|e| format!("the link: {e}"))?;
        let mut link = Casting {
            part: "link",
            title: "link",
            count: links(design),
            part_volume: volume(&made.mesh),
            pattern: made,
            stub: None,
            flow: None,
            rules: judged(design, &master),
            dimensions: master.dimensions.clone(),
        };
        link.join(design, tolerance, &build)?;
        out.push(link);
    }
    if let Some(frame) = FrameMaster::of(design, hole).filter(|_| wanted("clasp.frame")) {
        let build = |k: f64, more: &[Tree]| frame.build_with(k, more);
        let made = pattern(|k| build(k, &[]), c.factors, tolerance)
            .map_err(|e| format!("the frame of the clasp: {e}"))?;
        let mut casting = Casting {
            part: "clasp.frame",
            title: "frame of the clasp",
            count: 1,
            part_volume: volume(&made.mesh),
            pattern: made,
            stub: None,
            flow: None,
            rules: judged_frame(design, &frame),
            dimensions: frame.dimensions.clone(),
        };
        casting.join(design, tolerance, &build)?;
        out.push(casting);
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
    for c in list.iter_mut().filter(|c| c.flow.is_none()) {
        c.flow = c.looked_at(design);
    }
}
