//! Wear by Archard's law, V = K F s / H, in the convention with H alone below the line (others divide by 3 H: their K is three
//! times ours). H is 9.807 HV, MPa; s the sliding path, F the load, V the volume lost.
//!
//! K of precious metals on themselves is not published; clean copper on steel gave 1.1e-4 (Juvinall and Marshek, Fig. 9.13),
//! adhesive wear in general is near 1e-4, dirt makes it ten times more (NPTEL 112104122, lecture 7). So a life is a range of a
//! hundred to one, and only ratios between variants of one alloy mean anything.

use super::tidy;
use crate::params::{Design, JointKind, Key};
use crate::trade::hardness::hardness_mpa;
use serde::Serialize;

/// Factor by which K may be smaller or larger than assumed.
pub const SPREAD: f64 = 10.0;
/// Share of the worn section after which a joint is renewed (proposal).
pub const MAY_GO: f64 = 0.5;
/// Share of a pin's diameter that may go (proposal).
const PIN_MAY_GO: f64 = 0.3;
/// The clasp opens and shuts this often a day (assumption): once each.
const CLASP_OPENINGS: f64 = 2.0;
/// Days of a year.
const DAYS: f64 = 365.0;

/// What a life rests on.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Assumptions {
    /// Load on a joint, N.
    pub load_n: f64,
    /// K, middle of the range.
    pub coefficient: f64,
    /// Swings of a joint in a day.
    pub swings_a_day: f64,
    /// Angle of a swing.
    pub angle_deg: f64,
    /// H, MPa.
    pub hardness_mpa: f64,
    /// Source of the hardness.
    pub hardness_source: &'static str,
}

/// One worn place.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Point {
    /// In bench words.
    pub point: &'static str,
    /// Metal there now, mm.
    pub now_mm: f64,
    /// What may go, mm.
    pub may_go_mm: f64,
    /// Years until it is gone: at ten times K, at K, at a tenth of K.
    pub years: [f64; 3],
    /// How much a part of a percent more of each dimension buys: d ln life / d ln x, largest first.
    pub buys: Vec<Buys>,
}

/// What a dimension buys.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Buys {
    /// Its path.
    pub path: &'static str,
    /// Percent of life for a percent of it.
    pub elasticity: f64,
    /// Years for 0.05 mm more.
    pub years_for_005: f64,
}

/// Wear of the line.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Wear {
    /// What it rests on.
    pub assumptions: Assumptions,
    /// Places, the shortest life first.
    pub points: Vec<Point>,
    /// What the range means.
    pub note: &'static str,
}

const NOTE: &str = "An estimate: dirt, cream and care move it tenfold either way. Use it to compare variants of one alloy, never alloys with each other. Measure the pulled length instead.";

/// The assumptions of a design.
#[must_use]
pub fn assumptions(design: &Design) -> Assumptions {
    let (hardness_mpa, hardness_source) = hardness_mpa(design.metal().key);
    Assumptions {
        load_n: design.get(Key::WearLoad),
        coefficient: design.get(Key::WearCoefficient),
        swings_a_day: design.get(Key::WearSwings),
        angle_deg: design.get(Key::WearAngle),
        hardness_mpa,
        hardness_source,
    }
}

/// A bearing: load, radius it slides at, projected area, thickness that may go, swings and angle a day.
#[derive(Clone, Copy, Debug)]
struct Bearing {
    point: &'static str,
    radius: f64,
    area: f64,
    now: f64,
    may_go: f64,
    swings: f64,
    angle: f64,
}

impl Bearing {
    /// Years at the middle K.
    fn years(&self, a: &Assumptions) -> f64 {
        let path = self.swings * self.angle.to_radians() * self.radius;
        let volume_a_day = a.coefficient * a.load_n * path / a.hardness_mpa;
        self.may_go * self.area / (volume_a_day * DAYS)
    }
}

fn bearings(design: &Design) -> Vec<Bearing> {
    let d = design.dims();
    let a = assumptions(design);
    let daily = |point, radius, area, now: f64, may_go| Bearing {
        point,
        radius,
        area,
        now,
        may_go,
        swings: a.swings_a_day,
        angle: a.angle_deg,
    };
    let mut out = Vec::new();
    match design.joint() {
        JointKind::WireLoop => {
            if let Some(w) = &d.wire {
                // The web turns in the loop: radius half its height, area wire by web.
                let (wire, web) = (design.get(Key::Wire), design.get(Key::WebHeight));
                let depth = w.web_depth.get();
                out.push(daily("web under the bore", web / 2.0, wire * web, depth, MAY_GO * depth));
                out.push(daily("connecting wire", web / 2.0, wire * web, wire, MAY_GO * wire));
            }
        }
        JointKind::HingeTube => {
            if let Some(h) = &d.hinge {
                let (pin, wall, middle) = (design.get(Key::Pin), h.tube_wall.get(), h.middle_knuckle.get());
                out.push(daily("middle knuckle", pin / 2.0, pin * middle, wall, MAY_GO * wall));
                out.push(daily("hinge pin", pin / 2.0, pin * middle, pin, PIN_MAY_GO * pin));
            }
        }
    }
    if let Some(c) = &d.clasp {
        let pin = design.get(Key::ClaspPin);
        let middle = design.get(Key::ClaspTubeRow) * (1.0 - 2.0 * design.get(Key::ClaspOuterShare));
        let half_turn = |point, now: f64, may_go| Bearing {
            point,
            radius: pin / 2.0,
            area: pin * middle,
            now,
            may_go,
            swings: CLASP_OPENINGS,
            angle: 180.0,
        };
        let wall = c.tube_wall.get();
        out.push(half_turn("clasp knuckle", wall, MAY_GO * wall));
        out.push(half_turn("clasp pin", pin, PIN_MAY_GO * pin));
    }
    out
}

/// Parameters whose share in a life is told.
const DIMENSIONS: [Key; 10] = [
    Key::Wall,
    Key::Wire,
    Key::WebHeight,
    Key::TubeOuter,
    Key::TubeBore,
    Key::TubeLength,
    Key::Pin,
    Key::ClaspTubeOuter,
    Key::ClaspTubeBore,
    Key::ClaspTubeRow,
];

/// Wear of a design.
#[must_use]
pub fn wear(design: &Design) -> Wear {
    let a = assumptions(design);
    let mut points: Vec<Point> = bearings(design)
        .iter()
        .enumerate()
        .map(|(i, b)| {
            let years = b.years(&a);
            Point {
                point: b.point,
                now_mm: tidy(b.now),
                may_go_mm: tidy(b.may_go),
                years: [years / SPREAD, years, years * SPREAD].map(tidy),
                buys: buys(design, &a, i, years),
            }
        })
        .collect();
    points.sort_by(|a, b| a.years[1].total_cmp(&b.years[1]));
    Wear { assumptions: a, points, note: NOTE }
}

/// Elasticities by a step of a thousandth to either side.
fn buys(design: &Design, a: &Assumptions, place: usize, years: f64) -> Vec<Buys> {
    const STEP: f64 = 1e-3;
    let at = |key: Key, factor: f64| {
        let changed = design.varied(key, design.get(key) * factor);
        bearings(&changed).get(place).map_or(f64::NAN, |b| libm::log(b.years(a)))
    };
    let mut out: Vec<Buys> = DIMENSIONS
        .into_iter()
        .filter(|k| design.takes_part(*k) && design.get(*k) > 0.0)
        .map(|k| {
            let elasticity =
                (at(k, 1.0 + STEP) - at(k, 1.0 - STEP)) / (libm::log(1.0 + STEP) - libm::log(1.0 - STEP));
            Buys {
                path: k.path(),
                elasticity: (elasticity * 1e4).round() / 1e4,
                years_for_005: tidy(elasticity * years / design.get(k) * 0.05),
            }
        })
        .filter(|b| b.elasticity.abs() > 0.005)
        .collect();
    out.sort_by(|a, b| b.elasticity.abs().total_cmp(&a.elasticity.abs()).then(a.path.cmp(b.path)));
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Juvinall and Marshek, Fundamentals of Machine Component Design, pin on disk: copper pin of 80 HV, 20 N, radius 16 mm,
    /// 80 turns a minute, 2 h, 2.7 mm3 lost: K = V H / (F s) = 1.10e-4; steel disk 210 HB, 0.65 mm3: 6.94e-5.
    #[test]
    fn the_textbook_pin_on_disk() {
        let path = 80.0 * 120.0 * 2.0 * std::f64::consts::PI * 16.0;
        for (volume, hv, k) in [(2.7, 80.0, 1.10e-4), (0.65, 210.0, 6.94e-5)] {
            let found: f64 = volume * 9.807 * hv / (20.0 * path);
            assert!((found / k - 1.0).abs() < 0.01, "{found:e}");
            // The same through a bearing: the volume lost in a day of that many turns is may_go x area.
            let b = Bearing {
                point: "",
                radius: 16.0,
                area: 1.0,
                now: 1.0,
                may_go: volume,
                swings: 9600.0,
                angle: 360.0,
            };
            let a = Assumptions {
                load_n: 20.0,
                coefficient: found,
                swings_a_day: 0.0,
                angle_deg: 0.0,
                hardness_mpa: 9.807 * hv,
                hardness_source: "",
            };
            assert!((b.years(&a) * 365.0 - 1.0).abs() < 1e-9);
        }
    }
}
