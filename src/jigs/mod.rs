//! Bench jigs from the link's own dimensions: stop block and key for the openings, drill guide for the bores, former for the
//! connecting wire, pitch jig for five links. Each is an exact solid, printed in plastic: for cold work only.
//!
//! Jigs stand in the link's frame, so that a link in its place needs no moving; the five links of the pitch jig stand at
//! x = -2p to 2p. What they do and how much play they have is measured on the meshes, link and jig, from outside.

mod former;
mod nest;
mod pitch;
pub mod sheet;

use crate::masters::digits::number;
use crate::params::{Design, Key};
use crate::parts::link::{self, LinkShape};
use crate::solid::tree::{prism, rounded_rectangle};
use crate::solid::{BuildError, Frame, Solid, Tree};
use crate::units::Mm;
use crate::walls::Judgement;
use nalgebra::{Point3, Vector3};
use serde::Serialize;

use nest::{bores, key, openings};

/// Floor under the link, mm.
pub(crate) const FLOOR: f64 = 2.5;
/// Room between jig and cutters beyond it, mm: clear of everything.
const BEYOND: f64 = 1.0;
/// Height of the lower edge of a number over the underside of a floor, mm.
const NUMBER: f64 = 0.4;
/// Least wall of a jig, mm.
const LEAST_WALL: f64 = 1.2;
/// Least thickness of what goes into an opening, or stands alone, mm.
const LEAST_TONGUE: f64 = 0.5;
/// Dust of binary fractions.
const DUST: f64 = 1e-9;
const HABIT: &str = "common practice, no published source";
const PROPOSAL: &str = "proposal, no published source";

/// A size of a jig.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Size {
    /// Stable word for programs.
    pub word: &'static str,
    /// In bench words.
    pub what: String,
    /// mm, or degrees where the word ends in `_deg`.
    pub value: f64,
}

impl Size {
    fn of(word: &'static str, what: &str, value: f64) -> Self {
        Self { word, what: what.to_owned(), value: (value * 1e9).round() / 1e9 }
    }
}

/// A rule applied to a jig.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Rule {
    /// In bench words.
    pub title: &'static str,
    /// What it says.
    pub verdict: Judgement,
    /// Value, mm.
    pub value_mm: f64,
    /// Least value, mm.
    pub least_mm: f64,
    /// Where the limit comes from.
    pub source: &'static str,
    /// Parameter to change.
    pub change: &'static str,
}

/// A jig.
#[derive(Clone, Debug)]
pub struct Jig {
    /// Stem of its files.
    pub name: &'static str,
    /// In bench words.
    pub title: &'static str,
    /// How many are printed.
    pub count: usize,
    /// The exact solid.
    pub solid: Solid,
    /// Its sizes.
    pub sizes: Vec<Size>,
    /// What the numbers on it say.
    pub numbers: String,
    /// What it must meet.
    pub rules: Vec<Rule>,
    /// How it is used.
    pub how: String,
}

/// A jig that this design has no use for, and why.
#[derive(Clone, Debug, Serialize)]
pub struct Without {
    /// Stem its files would have.
    pub jig: &'static str,
    /// In bench words.
    pub title: &'static str,
    /// Why there is none.
    pub why: String,
}

/// What was asked for.
pub type Made = Result<Jig, Without>;

/// What all jigs of a design share.
#[derive(Debug)]
pub(crate) struct Bench<'d> {
    design: &'d Design,
    /// Drills in the drawer; empty where nobody said.
    drills: &'d [Mm],
    shape: LinkShape,
    play: f64,
    wall: f64,
    /// Half width of the link over rim and claws.
    reach: f64,
}

impl<'d> Bench<'d> {
    fn of(design: &'d Design, drills: &'d [Mm]) -> Result<Self, BuildError> {
        let shape = link::build(&LinkShape::finished(design))?.shape;
        let claws =
            shape.claw.circle.get() * std::f64::consts::FRAC_1_SQRT_2 + shape.claw.diameter.get() / 2.0;
        Ok(Self {
            design,
            drills,
            play: design.get(Key::JigPlay),
            wall: design.get(Key::JigWall),
            reach: shape.rim_radius.get().max(claws),
            shape,
        })
    }
    /// Half width of the pocket that takes rim and claws.
    fn pocket(&self) -> f64 {
        self.reach + self.play
    }
    /// Half the light between two claws.
    fn between_claws(&self) -> f64 {
        let c = &self.shape.claw;
        c.circle.get() * std::f64::consts::FRAC_1_SQRT_2 - c.diameter.get() / 2.0
    }
    /// What goes into an opening: half width, lower and upper edge, corner radius.
    fn tongue(&self) -> Tongue {
        let o = &self.shape.opening;
        let half = (o.width.get() / 2.0).min(self.between_claws()) - self.play;
        let z = [o.bottom.get() + self.play, o.top.get() - self.play];
        let corner = (o.corner.get() - self.play).min(half).min((z[1] - z[0]) / 2.0).max(0.0);
        Tongue { half, z, corner, tip: o.stop.get() + self.play }
    }
    fn wall_rule(&self) -> Rule {
        judged("wall of the jig", self.wall, LEAST_WALL, PROPOSAL, "jig.wall")
    }
    /// The stone's size in tenths of a millimetre, as it is cut into a jig.
    fn stone(&self) -> String {
        format!("{:.0}", self.shape.stone.diameter.get() * 10.0)
    }
}

/// What goes into an opening.
struct Tongue {
    half: f64,
    z: [f64; 2],
    corner: f64,
    /// How near to the middle line it reaches.
    tip: f64,
}

impl Tongue {
    fn thinnest(&self) -> f64 {
        (2.0 * self.half).min(self.z[1] - self.z[0])
    }
    /// Why there can be none, in bench words.
    fn missing(&self) -> Option<String> {
        (self.thinnest() < LEAST_TONGUE - DUST).then(|| {
            format!(
                "what goes through the opening, between the claws, would be {:.2} mm thin; a print holds {LEAST_TONGUE:.2}",
                self.thinnest().max(0.0)
            )
        })
    }
    /// Along -y from `from` (over +y), or along +y from -`from`.
    fn tree(&self, x: f64, side: f64, from: f64) -> Tree {
        let frame = facing(side, Point3::new(x, side * self.tip, 0.0));
        let sides = ["tongue.floor", "tongue.side", "tongue.roof", "tongue.side"];
        let profile = rounded_rectangle([-self.half, self.half], self.z, self.corner, sides);
        prism(frame, profile, from - self.tip, ["tongue.tip", "tongue.root"])
    }
}

fn judged(title: &'static str, value: f64, least: f64, source: &'static str, change: &'static str) -> Rule {
    let verdict = if value >= least - DUST { Judgement::Pass } else { Judgement::Fail };
    Rule { title, verdict, value_mm: value, least_mm: least, source, change }
}

/// A frame whose third axis points to +y or -y, upright; what is drawn in it reads rightly from that side.
fn facing(side: f64, origin: Point3<f64>) -> Frame {
    Frame::with_axes(origin, Vector3::x() * -side, Vector3::z())
}

/// An upright box.
fn block(x: [f64; 2], y: [f64; 2], z: [f64; 2], side: &str, ends: [&str; 2]) -> Tree {
    let profile = rounded_rectangle(x, y, 0.0, [side; 4]);
    prism(Frame::at(Point3::new(0.0, 0.0, z[0])), profile, z[1] - z[0], ends)
}

/// A number on the face at y = side * `at`, its lower edge `NUMBER` over z = `foot`, in the middle.
fn engraved(side: f64, at: f64, foot: f64, text: &str) -> Vec<Tree> {
    #[allow(clippy::cast_precision_loss)] // some digits
    let width = text.chars().count() as f64 * crate::masters::digits::STEP;
    let frame = facing(side, Point3::new(0.0, side * at, foot));
    number(&frame, [-width / 2.0, NUMBER], 0.0, text)
}

fn built(tree: &Tree) -> Result<Solid, BuildError> {
    let solid = Solid::build(tree)?;
    solid.whole()?;
    Ok(solid)
}

/// The jigs whose names are wanted, the drill guide for a drill of the drawer or, where that is empty, of the metric series.
///
/// # Errors
/// The kernel's refusal, with the jig's name.
pub fn jigs(design: &Design, drills: &[Mm], wanted: &dyn Fn(&str) -> bool) -> Result<Vec<Made>, String> {
    type Maker = fn(&Bench<'_>) -> Result<Made, BuildError>;
    const ALL: [(&str, Maker); 5] = [
        ("jig.openings", openings),
        ("jig.key", key),
        ("jig.bores", bores),
        ("jig.wire", former::former),
        ("jig.pitch", pitch::pitch),
    ];
    let bench = Bench::of(design, drills).map_err(|e| format!("the link: {e}"))?;
    ALL.iter()
        .filter(|(name, _)| wanted(name))
        .map(|(name, make)| {
            make(&bench).map_err(|e| format!("{name}: {e}. Change jig.play or jig.wall a little"))
        })
        .collect()
}

#[cfg(test)]
mod tests;
