//! How a casting fills and freezes, as far as its shape tells: heavy places, what they are fed through, pockets.

use super::sprue::{self, Sprue};
use crate::mesh::tessellate;
use crate::solid::Solid;
use crate::trade::processes::Process;
use crate::units::Tolerance;
use crate::walls::Judgement;
use crate::walls::field::Field;
use crate::walls::field::feed::Feed;
use nalgebra::Point3;
use serde::Serialize;

/// Chord of the mesh that is looked at, mm; it widens every interval.
const CHORD: f64 = 0.005;
/// Points of the grid in metal, about.
const POINTS: f64 = 30_000.0;
/// Width to which necks are found, on the radius, mm; less where the limit lies within.
const WIDTH: f64 = 0.04;
/// Heavy places told at most.
const PLACES: usize = 8;
/// Pockets told at most.
const POCKETS: usize = 12;
/// Places whose spheres differ by less than this share are alike.
const ALIKE: f64 = 0.03;
/// Widths of the balls that pockets are looked for with, mm.
const BALLS: [f64; 4] = [0.30, 0.45, 0.65, 0.90];

/// What a shape says about its casting.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Flow {
    /// Distance of the points of the grid that necks and pockets are found on, mm.
    pub grid_mm: f64,
    /// Where the sprue goes; absent where no flat of the underside has room, or nothing is cast.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sprue: Option<Sprue>,
    /// Heavy places, the heaviest first.
    pub heavy: Vec<HeavyPlace>,
    /// Pockets deeper for their width than the process fills or empties.
    pub pockets: Vec<PocketPlace>,
}

/// A heavy place.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HeavyPlace {
    /// Middle of the largest sphere that fits there, in the pattern's file, mm.
    pub at_mm: [f64; 3],
    /// Its diameter.
    pub sphere_mm: f64,
    /// Bounds of it.
    pub between_mm: [f64; 2],
    /// Faces it touches.
    pub faces: Vec<String>,
    /// Thinnest place on the widest way from the sprue; absent without a sprue.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub neck: Option<NeckPlace>,
}

/// The thinnest place on the way.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NeckPlace {
    /// Where, mm.
    pub at_mm: [f64; 3],
    /// Bounds of the diameter of the largest sphere that passes.
    pub between_mm: [f64; 2],
    /// Faces near it.
    pub faces: Vec<String>,
    /// Share of the heavy place's diameter below which it is thick, thin, thick.
    pub least_share: f64,
    /// Thick, thin, thick or not; unverified where the interval holds the limit.
    pub verdict: Judgement,
}

/// A pocket.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PocketPlace {
    /// Its innermost place, mm.
    pub at_mm: [f64; 3],
    /// Faces about it.
    pub faces: Vec<String>,
    /// Width of the ball that stays out.
    pub width_mm: f64,
    /// Bounds of how far it goes on behind that ball.
    pub deep_mm: [f64; 2],
    /// Whether it has no way out at all.
    pub closed: bool,
}

fn mm(p: &Point3<f64>) -> [f64; 3] {
    [p.x, p.y, p.z].map(round)
}
fn round(x: f64) -> f64 {
    (x * 1e3).round() / 1e3 + 0.0
}

impl Flow {
    /// That of a part as it is printed, without the stub of its sprue; `volume` in mm3, `share` of a heavy place that a neck must have,
    /// `stub` the diameter of the stub that is to be joined. `None` where it cannot be meshed.
    #[must_use]
    pub fn of(solid: &Solid, volume: f64, process: &Process, share: f64, stub: Option<f64>) -> Option<Self> {
        let fine = tessellate(solid, Tolerance::new(CHORD)?).ok()?;
        let mesh = &fine.mesh;
        let step = libm::cbrt(volume / POINTS).clamp(0.03, 0.085);
        let widest = BALLS.iter().fold(0.0_f64, |a, b| a.max(*b));
        let field = Field::new(mesh, step, 0.0)?;
        let faces = |p: &Point3<f64>, within: f64| -> Vec<String> {
            let mut out: Vec<String> = Vec::new();
            for f in field.faces_near(p, within) {
                if let Some(f) = solid.faces.get(f as usize)
                    && !out.contains(&f.name)
                    && out.len() < 3
                {
                    out.push(f.name.clone());
                }
            }
            out
        };
        let heaviest = field.largest(0.02)?;
        let sprue = if process.cast {
            sprue::place(solid, mesh, &field, 2.0 * heaviest.radius.lower.get(), stub)
        } else {
            None
        };
        let feed = sprue.as_ref().map(|s| {
            let [x, y, z] = s.at_mm;
            Feed { at: Point3::new(x, y, z), reach: 0.75 * s.foot_mm }
        });
        // Without a sprue necks say nothing; heavy places still do.
        let from = feed.unwrap_or(Feed { at: heaviest.centre, reach: 2.0 * field.step() });
        let heavy = field
            .heavy(&from, PLACES, WIDTH, share)
            .iter()
            .map(|h| {
                let s = h.sphere.radius;
                let neck = feed.map(|_| {
                    let n = h.neck.radius;
                    let (low, high) = ((n.lower.get() - CHORD).max(0.0), n.upper.get() + CHORD);
                    let verdict = if high < share * s.lower.get() {
                        Judgement::Fail
                    } else if low >= share * s.upper.get() {
                        Judgement::Pass
                    } else {
                        Judgement::Unverified
                    };
                    NeckPlace {
                        at_mm: mm(&h.neck.at),
                        between_mm: [low, high].map(|x| round(2.0 * x)),
                        faces: faces(&h.neck.at, high + field.step()),
                        least_share: share,
                        verdict,
                    }
                });
                HeavyPlace {
                    at_mm: mm(&h.sphere.centre),
                    sphere_mm: round(2.0 * s.lower.get()),
                    between_mm: [s.lower.get() - CHORD, s.upper.get() + CHORD].map(|x| round(2.0 * x)),
                    faces: faces(&h.sphere.centre, s.lower.get() + 0.02),
                    neck,
                }
            })
            .collect();
        let airy = Field::new(mesh, libm::cbrt(volume / 20_000.0).clamp(0.03, 0.2), widest / 2.0)?;
        // Only what is too deep whatever the grid leaves open.
        let pockets = airy
            .pockets(&BALLS, process.deep.value)
            .iter()
            .filter(|p| p.closed || p.deep - p.by > process.deep.value * p.width)
            .take(POCKETS)
            .map(|p| PocketPlace {
                at_mm: mm(&p.at),
                faces: faces(&p.at, p.width),
                width_mm: round(p.width),
                deep_mm: [(p.deep - p.by).max(0.0), p.deep + p.by].map(round),
                closed: p.closed,
            })
            .collect();
        Some(Self { grid_mm: round(field.step()), sprue, heavy, pockets })
    }
}

/// The word for a verdict on a neck.
fn neck_word(v: Judgement) -> &'static str {
    match v {
        Judgement::Pass => "wide enough",
        Judgement::Fail => "thick, thin, thick",
        Judgement::Unverified => "not decided: the limit lies within the interval",
    }
}

/// A place without dust: no -0.00.
fn place(at: [f64; 3]) -> String {
    let [x, y, z] = at.map(|x| if x.abs() < 0.005 { 0.0 } else { x });
    format!("({x:.2}, {y:.2}, {z:.2})")
}

impl HeavyPlace {
    /// In words, for terminal and sheet.
    #[must_use]
    pub fn words(&self) -> String {
        let at = format!("{:.2} mm at {}, by {}", self.sphere_mm, place(self.at_mm), self.faces.join(", "));
        at + &self.fed()
    }
    fn fed(&self) -> String {
        self.neck.as_ref().map_or_else(String::new, |n| {
            let [low, high] = n.between_mm;
            format!(
                "; fed through {low:.2} to {high:.2} mm at {}, at least {:.2} asked for: {}",
                place(n.at_mm),
                n.least_share * self.sphere_mm,
                neck_word(n.verdict)
            )
        })
    }
    /// Whether another place is of the same size and as well fed, as those of the four claws are.
    fn is_like(&self, o: &Self) -> bool {
        let verdict = |h: &Self| h.neck.as_ref().map(|n| n.verdict);
        (self.sphere_mm - o.sphere_mm).abs() <= ALIKE * self.sphere_mm && verdict(self) == verdict(o)
    }
}

impl PocketPlace {
    /// In words, for the sheet.
    #[must_use]
    pub fn words(&self) -> String {
        if self.closed {
            return format!("hollow without a way out at {}", place(self.at_mm));
        }
        let [low, high] = self.deep_mm;
        format!(
            "at {}, by {}: {low:.2} to {high:.2} mm behind what a ball of {:.2} mm reaches",
            place(self.at_mm),
            self.faces.join(", "),
            self.width_mm
        )
    }
}

impl Flow {
    /// The worst of the necks; passes where there is none.
    #[must_use]
    pub fn necks(&self) -> Judgement {
        let of = |v: Judgement| self.heavy.iter().filter_map(|h| h.neck.as_ref()).any(|n| n.verdict == v);
        if of(Judgement::Fail) {
            Judgement::Fail
        } else if of(Judgement::Unverified) {
            Judgement::Unverified
        } else {
            Judgement::Pass
        }
    }
    /// The heavy places in words, those alike in one line.
    #[must_use]
    pub fn heavy_words(&self) -> Vec<String> {
        let mut out = Vec::new();
        let mut told: Vec<&HeavyPlace> = Vec::new();
        for h in &self.heavy {
            if told.iter().any(|t| t.is_like(h)) {
                continue;
            }
            told.push(h);
            let alike: Vec<String> =
                self.heavy.iter().filter(|o| h.is_like(o)).map(|o| place(o.at_mm)).collect();
            out.push(if alike.len() > 1 {
                format!("{} alike, {:.2} mm, at {}{}", alike.len(), h.sphere_mm, alike.join(", "), h.fed())
            } else {
                h.words()
            });
        }
        out
    }
    /// Whether a hollow has no way out, which nothing fills or empties.
    #[must_use]
    pub fn has_closed_hollow(&self) -> bool {
        self.pockets.iter().any(|p| p.closed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::masters::judged::process;
    use crate::mesh::exact::solid_mass;
    use crate::params::read;
    use crate::parts::clasp::FrameMaster;
    use crate::parts::link::Master;
    use crate::solid::tree::{cylinder, revolve};
    use crate::solid::{Frame, Tree};
    use crate::trade::casting::NECK_SHARE;
    use crate::trade::processes::PROCESSES;
    use crate::units::Mm;

    fn body(parts: Vec<Tree>, holes: Vec<Tree>) -> Solid {
        let all = Tree::Union(parts);
        Solid::build(&if holes.is_empty() { all } else { all.minus(holes) }).unwrap()
    }
    fn bar(z: f64, r: f64, h: f64, name: &str) -> Tree {
        cylinder(
            Frame::at(Point3::new(0.0, 0.0, z)),
            r,
            h,
            name,
            [&format!("{name}.under"), &format!("{name}.top")],
        )
    }
    fn flow(s: &Solid) -> Flow {
        Flow::of(s, solid_mass(s).volume, &PROCESSES[0], NECK_SHARE, None).unwrap()
    }

    /// A knob of radius 0.8 on a stem of 0.25 on a foot: fed from below through the stem, and the sprue stands in the middle of the foot.
    #[test]
    fn a_knob_on_a_thin_stem_is_thick_thin_thick() {
        let s = body(
            vec![bar(0.0, 1.0, 1.6, "foot"), bar(1.5, 0.25, 1.2, "stem"), bar(2.6, 0.8, 1.6, "knob")],
            vec![],
        );
        let f = flow(&s);
        let sprue = f.sprue.clone().unwrap();
        assert_eq!(sprue.face.split('.').next(), Some("foot"));
        assert!((sprue.joins_mm - 1.6).abs() < 0.05 && sprue.section_percent >= 70.0, "{sprue:?}");
        let knob = f.heavy.iter().find(|h| h.at_mm[2] > 2.6).unwrap();
        let n = knob.neck.as_ref().unwrap();
        assert!(knob.between_mm[0] <= 1.6 && knob.between_mm[1] >= 1.6, "{knob:?}");
        assert!(n.verdict == Judgement::Fail && n.between_mm[0] <= 0.5 && n.between_mm[1] >= 0.5, "{n:?}");
        assert!(n.faces.iter().any(|f| f.starts_with("stem")), "{n:?}");
        assert_eq!(f.necks(), Judgement::Fail);
    }

    #[test]
    fn a_plain_bar_is_no_thick_thin_thick_and_has_no_pocket() {
        let f = flow(&body(vec![bar(0.0, 1.0, 3.0, "bar_")], vec![]));
        assert!(f.necks() != Judgement::Fail && f.pockets.is_empty(), "{f:?}");
    }

    #[test]
    fn a_blind_bore_two_widths_deep_is_a_pocket_and_one_as_deep_as_wide_is_none() {
        for (deep, told) in [(1.6, true), (0.5, false)] {
            let hole = revolve(
                Frame::at(Point3::new(0.0, 0.0, 3.0 - deep)),
                &[
                    (0.0, 0.0, "hole.floor"),
                    (0.29, 0.0, "hole.side"),
                    (0.29, 4.0, "hole.out"),
                    (0.0, 4.0, ""),
                ],
            );
            let f = flow(&body(vec![bar(0.0, 1.0, 3.0, "body")], vec![hole]));
            assert_eq!(!f.pockets.is_empty(), told, "{f:?}");
            assert!(f.pockets.iter().all(|p| p.faces.iter().any(|f| f.starts_with("hole"))), "{f:?}");
        }
    }

    /// What is said of a link: its heaviest places are its claws where they run into the collet, the sprue's foot is clear of all detail.
    #[test]
    fn a_link_is_heaviest_at_its_claws_and_is_fed_from_below() {
        let design = read(include_str!("../../params/line-4.0-platinum.jsonc")).unwrap();
        let s = Master::of(&design, Mm(0.0)).build().unwrap().solid;
        let f = Flow::of(&s, solid_mass(&s).volume, &process(&design), NECK_SHARE, None).unwrap();
        // A claw is 1.15 thick as cast; no sphere in it and the collet is smaller, nor much larger.
        assert!((1.13..1.25).contains(&f.heavy[0].sphere_mm), "{f:?}");
        assert!(f.heavy[0].faces.iter().any(|n| n.starts_with("claw")), "{f:?}");
        let sprue = f.sprue.unwrap();
        assert!(sprue.face.starts_with("collet.underside") && sprue.at_mm[2].abs() < 1e-9, "{sprue:?}");
        assert!((70.0..=150.0).contains(&sprue.section_percent) && sprue.body_mm >= f.heavy[0].sphere_mm);
        // Nothing is cast that is printed in metal: no sprue, no necks.
        let f = Flow::of(&s, solid_mass(&s).volume, &PROCESSES[3], NECK_SHARE, None).unwrap();
        assert!(f.sprue.is_none() && f.heavy.iter().all(|h| h.neck.is_none()), "{f:?}");
        let frame = FrameMaster::of(&design, Mm(0.0)).unwrap().build(1.0).unwrap();
        let f = Flow::of(&frame, solid_mass(&frame).volume, &process(&design), NECK_SHARE, None).unwrap();
        assert!(f.sprue.is_some_and(|s| s.face.starts_with("rail")) && !f.heavy.is_empty());
    }
}
