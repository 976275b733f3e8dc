//! The wear points of a link: places where metal must remain, measured on the finished solid.
//!
//! Each value comes from the solid's own faces, found by name, not from the numbers the recipe was written with, so that a
//! mistake of the recipe shows here.

use super::shape::{End, LinkShape, Outline};
use crate::solid::{Solid, Surface};
use crate::trade::limits::{self, Source, State, WallLimit};
use crate::trade::own::Own;
use crate::units::Mm;
use crate::walls::{self, Interval, Judgement, Kind};
use nalgebra::Point3;
use serde::Serialize;

/// What was found at one wear point.
#[derive(Clone, Debug, Serialize)]
pub struct WearReading {
    /// Stable word for programs, such as `web.left.height`.
    pub point: String,
    /// The class of wall, in bench words.
    pub class: &'static str,
    /// Measured thickness.
    pub value_mm: Option<f64>,
    /// Proved lower bound.
    pub lower_mm: Option<f64>,
    /// Proved upper bound.
    pub upper_mm: Option<f64>,
    /// Least thickness.
    pub limit_mm: f64,
    /// State of the metal the limit speaks of.
    pub state: State,
    /// Where the limit comes from.
    pub source: Source,
    /// Whether the wall is thick enough.
    pub verdict: Judgement,
    /// Why there is no value, or what else to know.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// The two faces.
    pub between: [String; 2],
    /// The two points, mm in the frame of the link.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<[[f64; 3]; 2]>,
    /// Parameters that move it.
    pub parameters: &'static [&'static str],
}

/// Why there is no length, and the two faces it was asked of.
type Missing = (String, [String; 2]);

/// A length, its interval, and the two places.
struct Found {
    value: Mm,
    interval: Interval,
    at: [Point3<f64>; 2],
    between: [String; 2],
}

/// A wear point to be measured.
struct Job {
    point: String,
    limit: &'static WallLimit,
    how: How,
    parameters: &'static [&'static str],
}

/// How a wear point is measured.
enum How {
    /// Between two sets of faces.
    Between(Vec<String>, Vec<String>, Kind),
    /// Width of the rim.
    RimLand,
    /// Metal beside an opening: side of the link, end of the opening.
    EndMetal(&'static str, &'static str),
    /// Diameter of a round wire.
    Diameter(String),
}

/// Measures every wear point of a link, on two threads; the order is always the same.
#[must_use]
pub fn wear_points(solid: &Solid, shape: &LinkShape, state: State, own: &Own) -> Vec<WearReading> {
    let s = Survey { solid, shape, state, own };
    let jobs = s.jobs();
    let half = |first: usize| {
        jobs.iter()
            .enumerate()
            .skip(first)
            .step_by(2)
            .filter_map(|(i, j)| s.run(j).map(|r| (i, r)))
            .collect::<Vec<_>>()
    };
    let mut all = std::thread::scope(|scope| {
        let other = scope.spawn(|| half(1));
        let mut mine = half(0);
        // A thread that died leaves its points unmeasured; the caller sees fewer than it should, never a false pass.
        mine.extend(other.join().unwrap_or_default());
        mine
    });
    all.sort_by_key(|r| r.0);
    all.into_iter().map(|r| r.1).collect()
}

const OPPOSED: Kind = Kind::Opposed { delta: walls::DELTA_WEAR };

/// First interval asked for, mm; a verdict that it leaves open is measured again as narrow as can be.
const QUICK: f64 = 1e-6;

struct Survey<'a> {
    solid: &'a Solid,
    shape: &'a LinkShape,
    state: State,
    own: &'a Own,
}

impl Survey<'_> {
    fn jobs(&self) -> Vec<Job> {
        let mut out = Vec::new();
        let mut add = |point: &str, limit, how, parameters| {
            out.push(Job { point: point.to_owned(), limit, how, parameters });
        };
        let one = |name: &str| vec![name.to_owned()];
        let faces = |prefix: &str| self.present(&[prefix]);
        let skin = How::Between(faces("collet.outside"), faces("collet.inside"), OPPOSED);
        add("collet.wall", &limits::COLLET_SKIN, skin, &["collet.wall"]);
        if matches!(self.shape.outline, Outline::Square { .. }) {
            let across = How::Between(faces("collet.corner"), faces("collet.hollow"), OPPOSED);
            let moves = &["collet.inner_corner_radius", "collet.corner_radius", "collet.wall"];
            add("collet.corner", &limits::CORNER, across, moves);
        }
        add("rim.land", &limits::RIM_LAND, How::RimLand, &["seat.rim_land"]);
        for side in ["front", "back"] {
            let roof = one(&format!("opening.{side}.roof"));
            let how = How::Between(roof, one("seat"), Kind::Shortest);
            let moves = &["opening.top", "collet.height", "seat.rim_land"];
            add(&format!("opening.{side}.over"), &limits::OVER_OPENING, how, moves);
            for end in ["left", "right"] {
                let moves = &["opening.width", "opening.stop", "collet.foot_half_width"];
                let point = format!("opening.{side}.beside.{end}");
                add(&point, &limits::BESIDE_OPENING, How::EndMetal(side, end), moves);
            }
        }
        for (end, joint) in ["left", "right"].into_iter().zip(&self.shape.ends) {
            match joint {
                End::Plain => continue,
                End::Pair(_) | End::Middle(_) => {
                    self.hinge_jobs(end, &mut add);
                    continue;
                }
                End::Loop(_) => {}
            }
            let n = |feature: &str, part: &str| format!("{feature}.{end}.{part}");
            let between = |a: (&str, &str), b: (&str, &str), kind| {
                How::Between(one(&n(a.0, a.1)), one(&n(b.0, b.1)), kind)
            };
            let height = between(("bore", "floor"), ("groove", "roof"), OPPOSED);
            add(&n("web", "height"), &limits::WEB_HEIGHT, height, &["joint.web_height"]);
            let depth = between(("web", "inside"), ("web", "outside"), OPPOSED);
            add(&n("web", "depth"), &limits::WEB_DEPTH, depth, &["collet.wall"]);
            let crown = How::Between(one(&n("bore", "roof")), one("seat"), Kind::Shortest);
            let moves = &["collet.height", "joint.bore_height", "joint.web_height", "joint.groove_depth"];
            add(&n("bore", "crown"), &limits::CROWN, crown, moves);
            let openings = self.present(&["opening.front", "opening.back"]);
            let beside = How::Between(one(&n("bore", "side")), openings, Kind::Shortest);
            let moves = &["opening.stop", "joint.bore_width", "opening.width"];
            add(&n("bore", "beside"), &limits::BESIDE_BORE, beside, moves);
        }
        for i in 1..=4 {
            let how = How::Diameter(format!("claw.{i}.side"));
            add(&format!("claw.{i}"), &limits::CLAW, how, &["claw.diameter"]);
        }
        out
    }

    fn hinge_jobs(
        &self,
        end: &str,
        add: &mut impl FnMut(&str, &'static WallLimit, How, &'static [&'static str]),
    ) {
        let one = |feature: &str, part: &str| vec![format!("{feature}.{end}.{part}")];
        let wall = How::Between(one("bore", "side"), one("knuckle", "side"), OPPOSED);
        add(&format!("knuckle.{end}.wall"), &limits::TUBE, wall, &["joint.tube_outer", "joint.tube_bore"]);
        let pocket = self.present(&[&format!("pocket.{end}.roof"), &format!("pocket.{end}.side")]);
        let behind = How::Between(pocket, vec!["foot.light".into()], Kind::Shortest);
        let moves = &["collet.light_hole", "line.gap", "joint.tube_outer", "joint.pocket_clearance"];
        add(&format!("pocket.{end}.behind"), &limits::BEHIND_POCKET, behind, moves);
        let floors = vec!["opening.front.floor".into(), "opening.back.floor".into()];
        let above = How::Between(one("pocket", "roof"), floors, Kind::Shortest);
        let moves = &["opening.bottom", "joint.tube_height", "joint.tube_outer"];
        add(&format!("pocket.{end}.above"), &limits::POCKET_TO_OPENING, above, moves);
    }

    /// `None` where there is no such wall.
    fn run(&self, job: &Job) -> Option<WearReading> {
        let found = match &job.how {
            How::Between(from, to, kind) => {
                let quick = self.between(from, to, *kind, QUICK);
                let reading = self.read(job, quick);
                if reading.verdict != Judgement::Unverified || reading.value_mm.is_none() {
                    return Some(reading);
                }
                self.between(from, to, *kind, 1e-9)
            }
            How::RimLand => self.rim_land(),
            How::EndMetal(side, end) => match self.end_metal(side, end) {
                Ok(found) => Ok(found?),
                Err(e) => Err(e),
            },
            How::Diameter(face) => self.diameter(face),
        };
        Some(self.read(job, found))
    }

    fn between(&self, from: &[String], to: &[String], kind: Kind, narrow: f64) -> Result<Found, Missing> {
        let names = |v: &[String]| v.first().cloned().unwrap_or_default();
        let refs = |v: &'_ [String]| v.iter().map(String::as_str).collect::<Vec<_>>().join("\n");
        let (a, b) = (refs(from), refs(to));
        let (a, b): (Vec<&str>, Vec<&str>) = (a.lines().collect(), b.lines().collect());
        walls::measure_within(self.solid, &a, &b, kind, narrow)
            .map(|m| Found { value: m.value, interval: m.interval, at: m.at, between: m.between })
            .map_err(|e| (e.to_string(), [names(from), names(to)]))
    }

    fn read(&self, job: &Job, found: Result<Found, Missing>) -> WearReading {
        let (least, state, source) = self.own.wall(job.limit, self.state);
        let base = WearReading {
            point: job.point.clone(),
            class: job.limit.class,
            value_mm: None,
            lower_mm: None,
            upper_mm: None,
            limit_mm: least.get(),
            state,
            source,
            verdict: Judgement::Unverified,
            why: None,
            between: [String::new(), String::new()],
            at: None,
            parameters: job.parameters,
        };
        match found {
            Ok(f) => WearReading {
                value_mm: Some(f.value.get()),
                lower_mm: Some(f.interval.lower.get()),
                upper_mm: Some(f.interval.upper.get()),
                verdict: walls::judge(&f.interval, least),
                between: f.between,
                at: Some(f.at.map(|p| [p.x, p.y, p.z])),
                ..base
            },
            Err((why, between)) => WearReading { why: Some(why), between, ..base },
        }
    }

    /// Names of all faces that are, or are parts of, one of the features.
    fn present(&self, features: &[&str]) -> Vec<String> {
        let mut out: Vec<String> = self
            .solid
            .faces
            .iter()
            .map(|f| f.name.clone())
            .filter(|n| {
                features.iter().any(|f| n.strip_prefix(f).is_some_and(|r| r.is_empty() || r.starts_with('.')))
            })
            .collect();
        out.sort();
        out
    }

    fn surface(&self, name: &str) -> Result<Surface, Missing> {
        self.solid
            .faces_named(name)
            .first()
            .map(|&i| self.solid.faces[i].surface)
            .ok_or_else(|| (format!("there is no face {name}"), [name.to_owned(), String::new()]))
    }

    /// Width of the flat rim in the middle of the right end, where no claw stands: seat and skin in the plane of the rim.
    fn rim_land(&self) -> Result<Found, Missing> {
        let skin = self.skin("right");
        let names = ["seat".to_owned(), skin.clone()];
        let (Surface::Plane(rim), Surface::Cone(seat)) = (self.surface("collet.rim")?, self.surface("seat")?)
        else {
            return Err(("the rim is not where a plane cuts the seat".into(), names));
        };
        let z = rim.offset * rim.normal.z.signum();
        let at = |surface: &Surface| out_to(surface, 0.0, z, 1.0);
        let (inner, outer) = (at(&Surface::Cone(seat)), at(&self.surface(&skin)?));
        let value = Mm(outer - inner);
        let at = [Point3::new(inner, 0.0, z), Point3::new(outer, 0.0, z)];
        Ok(Found { value, interval: Interval::exact(value), at, between: names })
    }

    /// Name of the skin at an end of the link.
    fn skin(&self, end: &str) -> String {
        match self.shape.outline {
            Outline::Round => "collet.outside".into(),
            Outline::Square { .. } => format!("collet.outside.{end}"),
        }
    }

    /// Metal from the end of an opening to the skin, along the line, where the cut stops; the least of the heights at
    /// which the opening begins and ends. `None` where the opening runs through to the skin.
    fn end_metal(&self, side: &str, end: &str) -> Result<Option<Found>, Missing> {
        let (face, skin) = (format!("opening.{side}.{end}"), self.skin(end));
        let names = [face.clone(), skin.clone()];
        if self.solid.faces_named(&face).is_empty() {
            return Ok(None);
        }
        let (Surface::Plane(flank), skin) = (self.surface(&face)?, self.surface(&skin)?) else {
            return Err(("the end of the opening is not a plane".into(), names));
        };
        let sign = if end == "left" { -1.0 } else { 1.0 };
        let y = self.shape.opening.stop.get() * if side == "front" { 1.0 } else { -1.0 };
        let x = flank.offset / flank.normal.x;
        let at = |z: f64| {
            let out = out_to(&skin, y, z, sign);
            (Mm((out - x) * sign), [Point3::new(x, y, z), Point3::new(out, y, z)])
        };
        let (low, high) = (at(self.shape.opening.bottom.get()), at(self.shape.opening.top.get()));
        if low.0.get().max(high.0.get()) <= 0.0 {
            return Ok(None);
        }
        let least = if high.0 < low.0 { high } else { low };
        Ok(Some(Found { value: least.0, interval: Interval::exact(least.0), at: least.1, between: names }))
    }

    /// Diameter of a round wire.
    fn diameter(&self, face: &str) -> Result<Found, Missing> {
        let names = [face.to_owned(), face.to_owned()];
        let Surface::Cone(c) = self.surface(face)? else {
            return Err(("the wire is not round".into(), names));
        };
        let value = Mm(2.0 * c.radius);
        // Where the wire stands free, above the stone.
        let foot = c.origin + c.axis * (self.shape.claw.top.get() - c.origin.z) * c.axis.z;
        Ok(Found {
            value,
            interval: Interval::exact(value),
            at: [foot - c.reference * c.radius, foot + c.reference * c.radius],
            between: names,
        })
    }
}

/// Where a line along x at `y` and `z` leaves a surface, on the side of the sign. Cones are upright and centred.
fn out_to(surface: &Surface, y: f64, z: f64, sign: f64) -> f64 {
    match surface {
        Surface::Plane(p) => (p.offset - p.normal.y * y - p.normal.z * z) / p.normal.x,
        Surface::Cone(c) => {
            let r = c.radius_at((z - c.origin.z) * c.axis.z);
            sign * (r * r - y * y).max(0.0).sqrt()
        }
        // No link has one; not a number is not measured.
        Surface::Torus(_) => f64::NAN,
    }
}
