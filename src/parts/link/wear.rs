//! The wear points of a link: places where metal must remain, measured on the finished solid.
//!
//! Each value comes from the solid's own faces, found by name, not from the numbers the recipe was written with, so that a
//! mistake of the recipe shows here.

use super::shape::LinkShape;
use crate::solid::{Solid, Surface};
use crate::trade::limits::{self, Source, State, WallLimit};
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

/// A length, its interval, and the two places.
struct Found {
    value: Mm,
    interval: Interval,
    at: [Point3<f64>; 2],
    between: [String; 2],
}

/// Measures every wear point of a link.
#[must_use]
pub fn wear_points(solid: &Solid, shape: &LinkShape, state: State) -> Vec<WearReading> {
    let s = Survey { solid, state };
    let mut out = vec![
        s.measured("collet.wall", &limits::COLLET_SKIN, &["collet.outside"], &["collet.inside"], OPPOSED, &["collet.wall"]),
        s.read("rim.land", &limits::RIM_LAND, s.rim_land(), &["seat.rim_land"]),
    ];
    for side in ["front", "back"] {
        let roof = format!("opening.{side}.roof");
        let point = format!("opening.{side}.over");
        let moves = &["opening.top", "collet.height", "seat.rim_land"];
        out.push(s.measured(&point, &limits::OVER_OPENING, &[&roof], &["seat"], Kind::Shortest, moves));
        for end in ["left", "right"] {
            let point = format!("opening.{side}.beside.{end}");
            let moves = &["opening.width", "opening.stop", "collet.foot_half_width"];
            out.extend(s.end_metal(&point, side, end, shape, moves));
        }
    }
    for (end, joint) in [("left", &shape.left), ("right", &shape.right)] {
        if joint.is_none() {
            continue;
        }
        let n = |feature: &str, part: &str| format!("{feature}.{end}.{part}");
        let (floor, under) = (n("bore", "floor"), n("groove", "roof"));
        let (inside, outside) = (n("web", "inside"), n("web", "outside"));
        let (roof, flank) = (n("bore", "roof"), n("bore", "side"));
        let height = &["joint.web_height"];
        out.push(s.measured(&n("web", "height"), &limits::WEB_HEIGHT, &[&floor], &[&under], OPPOSED, height));
        out.push(s.measured(&n("web", "depth"), &limits::WEB_DEPTH, &[&inside], &[&outside], OPPOSED, &["collet.wall"]));
        let crown = &["collet.height", "joint.bore_height", "joint.web_height", "joint.groove_depth"];
        out.push(s.measured(&n("bore", "crown"), &limits::CROWN, &[&roof], &["seat"], Kind::Shortest, crown));
        let openings = s.present(&["opening.front", "opening.back"]);
        let openings: Vec<&str> = openings.iter().map(String::as_str).collect();
        let beside = &["opening.stop", "joint.bore_width", "opening.width"];
        out.push(s.measured(
            &n("bore", "beside"),
            &limits::BESIDE_BORE,
            &[&flank],
            &openings,
            Kind::Shortest,
            beside,
        ));
    }
    for i in 1..=4 {
        let face = format!("claw.{i}.side");
        out.push(s.read(&format!("claw.{i}"), &limits::CLAW, s.diameter(&face), &["claw.diameter"]));
    }
    out
}

const OPPOSED: Kind = Kind::Opposed { delta: walls::DELTA_WEAR };

struct Survey<'a> {
    solid: &'a Solid,
    state: State,
}

impl Survey<'_> {
    fn measured(
        &self,
        point: &str,
        limit: &WallLimit,
        from: &[&str],
        to: &[&str],
        kind: Kind,
        parameters: &'static [&'static str],
    ) -> WearReading {
        let found = walls::measure(self.solid, from, to, kind)
            .map(|m| Found { value: m.value, interval: m.interval, at: m.at, between: m.between })
            .map_err(|e| (e.to_string(), [from, to].map(|n| n.first().map_or_else(String::new, |s| (*s).to_owned()))));
        self.read(point, limit, found, parameters)
    }

    fn read(
        &self,
        point: &str,
        limit: &WallLimit,
        found: Result<Found, (String, [String; 2])>,
        parameters: &'static [&'static str],
    ) -> WearReading {
        let (least, state) = limit.at(self.state);
        let base = WearReading {
            point: point.to_owned(),
            class: limit.class,
            value_mm: None,
            lower_mm: None,
            upper_mm: None,
            limit_mm: least.get(),
            state,
            source: limit.source,
            verdict: Judgement::Unverified,
            why: None,
            between: [String::new(), String::new()],
            at: None,
            parameters,
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

    /// All faces whose name begins with one of the features.
    fn present(&self, features: &[&str]) -> Vec<String> {
        let mut out: Vec<String> = self
            .solid
            .faces
            .iter()
            .map(|f| f.name.clone())
            .filter(|n| features.iter().any(|f| n.strip_prefix(f).is_some_and(|r| r.starts_with('.'))))
            .collect();
        out.sort();
        out
    }

    fn surface(&self, name: &str) -> Result<Surface, (String, [String; 2])> {
        self.solid
            .faces_named(name)
            .first()
            .map(|&i| self.solid.faces[i].surface)
            .ok_or_else(|| (format!("there is no face {name}"), [name.to_owned(), String::new()]))
    }

    /// Width of the flat rim: radii of skin and seat in the plane of the rim.
    fn rim_land(&self) -> Result<Found, (String, [String; 2])> {
        let names = ["seat".to_owned(), "collet.outside".to_owned()];
        let (Surface::Plane(rim), Surface::Cone(seat), Surface::Cone(skin)) =
            (self.surface("collet.rim")?, self.surface("seat")?, self.surface("collet.outside")?)
        else {
            return Err(("the rim is not where a plane cuts two cones".into(), names));
        };
        // The point of the axis in the plane, as a height on each cone.
        let on_axis = |c: &crate::solid::Cone| {
            (rim.offset - rim.normal.dot(&c.origin.coords)) / rim.normal.dot(&c.axis)
        };
        let (inner, outer) = (seat.radius_at(on_axis(&seat)), skin.radius_at(on_axis(&skin)));
        let centre = skin.origin + skin.axis * on_axis(&skin);
        // Where no claw stands: along the line.
        let x = nalgebra::Vector3::x();
        let value = Mm(outer - inner);
        Ok(Found {
            value,
            interval: Interval::exact(value),
            at: [centre + x * inner, centre + x * outer],
            between: names,
        })
    }

    /// Metal from the end of an opening to the skin, along the line, where the cut stops; the least of the heights at
    /// which the end face begins and ends. Nothing where the opening runs through to the skin.
    fn end_metal(
        &self,
        point: &str,
        side: &str,
        end: &str,
        shape: &LinkShape,
        parameters: &'static [&'static str],
    ) -> Option<WearReading> {
        let face = format!("opening.{side}.{end}");
        let names = [face.clone(), "collet.outside".to_owned()];
        let find = || -> Result<Option<Found>, (String, [String; 2])> {
            let (Surface::Plane(flank), Surface::Cone(skin)) = (self.surface(&face)?, self.surface("collet.outside")?)
            else {
                return Err(("the end of the opening is not a plane".into(), names.clone()));
            };
            let sign = if end == "left" { -1.0 } else { 1.0 };
            let y = shape.opening.stop.get() * if side == "front" { 1.0 } else { -1.0 };
            let x = (flank.offset * flank.normal.x) / (flank.normal.x * flank.normal.x);
            let at = |z: f64| {
                let r = skin.radius_at(z - skin.origin.z);
                let out = sign * (r * r - y * y).max(0.0).sqrt();
                (Mm((out - x) * sign), [Point3::new(x, y, z), Point3::new(out, y, z)])
            };
            let (low, high) = (at(shape.opening.bottom.get()), at(shape.opening.top.get()));
            let least = if high.0 < low.0 { high } else { low };
            let most = low.0.get().max(high.0.get());
            // Both heights beyond the skin: the opening ends in the claw and leaves no wall here.
            if most <= 0.0 {
                return Ok(None);
            }
            Ok(Some(Found { value: least.0, interval: Interval::exact(least.0), at: least.1, between: names.clone() }))
        };
        let reading = match find() {
            Ok(None) => return None,
            Ok(Some(f)) => Ok(f),
            // A skin that the opening's ends do not reach has no such face.
            Err(e) => Err(e),
        };
        Some(self.read(point, &limits::BESIDE_OPENING, reading, parameters))
    }

    /// Diameter of a round wire.
    fn diameter(&self, face: &str) -> Result<Found, (String, [String; 2])> {
        let names = [face.to_owned(), face.to_owned()];
        let Surface::Cone(c) = self.surface(face)? else {
            return Err(("the wire is not round".into(), names));
        };
        let value = Mm(2.0 * c.radius);
        let foot = c.origin;
        Ok(Found {
            value,
            interval: Interval::exact(value),
            at: [foot - c.reference * c.radius, foot + c.reference * c.radius],
            between: names,
        })
    }
}
