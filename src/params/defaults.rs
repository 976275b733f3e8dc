//! From what the file gives to a number for every parameter: the defaults, derived from the stone where the
//! trade does so. All of them are common practice or proposals, no published source.

use super::dims::{CLAW_LET_IN, Dims};
use super::impossible;
use super::numbers::Numbers;
use super::rules;
use super::table::{Key as K, Kind, Part, TABLE};
use super::text::Given;
use crate::trade::printers::{BORE_CLOSES, TRIAL_GAP};
use crate::trade::stones::{PAVILION, round_carat};
use crate::units::{Deg, Mm};
use std::f64::consts::{PI, SQRT_2};

/// Values are rounded to what a goldsmith measures.
const STEP: f64 = 0.01;
/// Noise of decimal fractions in doubles: a value this close to a step is on it.
const NOISE: f64 = 1e-9;
/// Ease aimed at between wrist and bracelet (10 to 18 is worn).
const EASE: f64 = 13.0;
/// Gap the count aims at, and the range the gap may be moved in to meet the length.
const GAP: (f64, f64, f64) = (0.08, 0.10, 0.20);
/// Taper of the skin, in degrees: least, and largest that still looks straight.
const TAPER: (f64, f64) = (4.0, 8.0);
/// Metal a default leaves over the bore; the limit is 0.30, the opening needs the rest.
const CROWN: f64 = 0.70;
/// Setting widths tried beyond stone + 0.10 when the claws do not fit round a small stone.
const WIDENED: [f64; 13] = [0.0, 0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.35, 0.40, 0.45, 0.50, 0.55, 0.60];

fn near(x: f64) -> f64 {
    (x / STEP).round() * STEP
}
fn down(x: f64) -> f64 {
    (x / STEP + NOISE).floor() * STEP
}
fn up(x: f64) -> f64 {
    (x / STEP - NOISE).ceil() * STEP
}
/// Cuts the dust of decimal fractions off, so that 4.1 is 4.1.
fn clean(x: f64) -> f64 {
    (x * 1e6).round() / 1e6
}
/// Straight lines through the points, flat beyond both ends.
fn through(points: &[(f64, f64)], x: f64) -> f64 {
    let Some(first) = points.first() else { return 0.0 };
    let mut last = *first;
    if x <= last.0 {
        return last.1;
    }
    for p in points {
        if x <= p.0 {
            let s = if p.0 > last.0 { (x - last.0) / (p.0 - last.0) } else { 1.0 };
            return last.1 + s * (p.1 - last.1);
        }
        last = *p;
    }
    last.1
}

/// A number for every parameter, and by how much the setting was widened beyond the plain rule.
///
/// The plain rules are tried first; only when the file leaves the width open and they break a rule of severity
/// refuse is the setting widened, in steps, for a small stone.
pub(crate) fn resolve(given: &Given) -> (Numbers, f64) {
    let mut best: Option<(usize, Numbers, f64)> = None;
    for widen in WIDENED {
        let v = chain(given, widen);
        let d = Dims::of(&v);
        let faults = 100 * impossible::broken(&v, &d).len() + rules::refused(&v, &d).len();
        if best.as_ref().is_none_or(|b| faults < b.0) {
            best = Some((faults, v, widen));
        }
        if faults == 0 || given.get(K::Width).is_some() {
            break;
        }
    }
    best.map_or_else(|| (Numbers::zero(), 0.0), |b| (b.1, b.2))
}

struct Chain<'g> {
    v: Numbers,
    given: &'g Given,
}

impl Chain<'_> {
    /// The given value, else the default, kept inside the range of the table.
    fn set(&mut self, k: K, default: f64) -> f64 {
        let s = k.spec();
        let bounded =
            if matches!(s.kind, Kind::Choice(_)) { default } else { default.clamp(s.least, s.most) };
        self.v[k] = self.given.get(k).unwrap_or_else(|| clean(bounded));
        self.v[k]
    }
}

fn chain(given: &Given, widen: f64) -> Numbers {
    let mut c = Chain { v: Numbers::zero(), given };
    for s in &TABLE {
        if matches!(s.kind, Kind::Choice(_)) {
            c.set(s.key, 0.0);
        }
    }
    let d = c.set(K::Diameter, 4.0);
    let t = c.set(K::StoneTolerance, 0.05);
    c.set(K::Carat, (round_carat(Mm(d)) * 1e4).round() / 1e4);
    let wrist = c.set(K::Wrist, 165.0);
    let w = c.set(K::Width, up((d + 0.10).max(d + t + 0.05) + widen));
    let rim = w / 2.0;
    let wall = c.set(
        K::Wall,
        near(through(&[(1.5, 0.40), (2.0, 0.40), (2.5, 0.42), (3.0, 0.45), (4.0, 0.50), (6.0, 0.60)], d)),
    );
    // The stone must lie wider than the seat's edge, however wide the setting.
    let land = near(through(&[(3.0, 0.25), (4.0, 0.30)], d)).max(up(rim - d / 2.0 + 0.12));
    c.set(K::RimLand, land.min(down(wall - 0.10)));
    c.set(K::BurAngle, 90.0);
    // Below 0.60 no claw; the slope outside the table keeps the bite near 0.28 of the wire.
    let claw = through(&[(2.0, 0.60), (2.5, 0.65), (3.0, 0.75), (4.0, 0.95), (6.0, 1.40)], d);
    let claw = c.set(K::ClawDiameter, near(claw));
    c.set(K::ClawOver, near(through(&[(2.5, 0.30), (4.0, 0.40)], d)));

    joint(&mut c, w, wall);
    hinge(&mut c, w);
    corners(&mut c, w, wall);
    if c.v.has(Part::Tube) {
        hinged_collet(&mut c, rim);
    } else {
        collet(&mut c, rim, claw);
        c.set(K::FootFill, 1.0);
        c.set(K::LightHole, 1.0);
        c.set(K::BlockHalfWidth, rim);
    }
    opening(&mut c, w);
    line(&mut c, w, wrist);
    c.set(K::TrialGap, TRIAL_GAP.get());
    c.set(K::TrialBoreOffset, BORE_CLOSES.get());
    c.v
}

fn joint(c: &mut Chain<'_>, w: f64, wall: f64) {
    let wire = c.set(K::Wire, near(0.13 * w).max(0.22));
    let flat = c.set(K::WireFlat, near(0.76 * wire));
    let flat_width = PI * wire * wire / (4.0 * flat);
    c.set(K::EndPlay, 0.02);
    let bore = c.set(K::BoreWidth, (wire + 0.05).max(up(flat_width + 0.03)));
    c.set(K::BoreHeight, near(1.25 * bore));
    let groove = c.set(K::GrooveDepth, flat + 0.03);
    c.set(K::GrooveWidth, up(flat_width + 0.06));
    // Depth of the web: the wall measured horizontally, for the 6 degrees of a usual taper.
    let depth = wall / libm::cos(Deg(6.0).radians());
    let least = c.given.get(K::WebHeight).map_or(depth, |h| h.min(depth));
    let edge = c.set(K::WebEdge, near(0.43 * least));
    let turns = |h: f64| {
        let (x, y) = (h - 2.0 * edge, depth - 2.0 * edge);
        (x * x + y * y).sqrt() + 2.0 * edge <= groove - flat + h - 0.005
    };
    let height = (50..=75).map(|i| f64::from(i) * STEP).find(|h| turns(*h));
    c.set(K::WebHeight, height.unwrap_or_else(|| up(1.19 * depth).max(0.50)));
}

/// Tube, bore and pin of a hinge.
fn hinge(c: &mut Chain<'_>, w: f64) {
    // Below 1.00 no pin is left that a bench would draw in.
    let outer = c.set(K::TubeOuter, near(0.39 * w).max(1.0));
    // 0.20 of rim round a bead of 1.6 pins or of the bore + 0.20, and 0.30 of wall.
    let thickest = ((outer - 0.40) / 1.6).min(outer - 0.40 - 0.24).min(outer - 0.64);
    let thickest = c.given.get(K::TubeBore).map_or(thickest, |b| thickest.min(b - 0.04));
    let pin = c.set(K::Pin, down(thickest));
    c.set(K::TubeBore, pin + 0.04);
    c.set(K::TubeLength, near(0.68 * w));
    c.set(K::OuterShare, 0.30);
    c.set(K::SideGap, 0.04);
    c.set(K::PocketClearance, 0.06);
    c.set(K::TubeHeight, up(outer / 2.0 + 0.02));
}

fn corners(c: &mut Chain<'_>, w: f64, wall: f64) {
    let share = if c.v[K::Shape] > 1.0 { 0.12 } else { 0.09 };
    let outer = if c.v.has(Part::Block) { 0.30 } else { near(share * w) };
    let outer = c.set(K::CornerRadius, outer);
    c.set(K::InnerCornerRadius, (outer - wall).max(0.10));
}

/// Height, foot and opening of a link on hinge tubes: the lowest collet on which stone, pockets and opening all fit.
fn hinged_collet(c: &mut Chain<'_>, rim: f64) {
    let d = c.v[K::Diameter];
    let bur = Deg(c.v[K::BurAngle] / 2.0).tan();
    let seat = rim - c.v[K::RimLand];
    let (wall, axis) = (c.v[K::Wall], c.v[K::TubeHeight]);
    let pocket = c.v[K::TubeOuter] / 2.0 + c.v[K::PocketClearance];
    // The narrowest line leaves the least metal behind the pockets.
    let half_pitch = rim + c.given.get(K::Gap).unwrap_or(GAP.0) / 2.0;
    let tan = Deg(TAPER.1).tan();
    let given_foot = c.given.get(K::FootHalfWidth);
    let foot = |h: f64| given_foot.unwrap_or_else(|| down(rim - tan * h));
    let inside = |h: f64, z: f64| {
        let t = (rim - foot(h)) / h;
        foot(h) + t * z - wall * (1.0 + t * t).sqrt()
    };
    // Lowest fill behind whose edge the pocket leaves the wall of a collet.
    let fill = |h: f64| {
        let keep = (half_pitch - inside(h, axis + pocket) - 0.41).max(0.0);
        up(axis + (pocket * pocket - keep * keep).max(0.0).sqrt() + 0.01)
    };
    let (given_fill, given_low) = (c.given.get(K::FootFill), c.given.get(K::OpeningBottom));
    let filled =
        |h: f64| given_fill.unwrap_or_else(|| given_low.map_or(fill(h), |z| fill(h).min(down(z - 0.10))));
    let low = |h: f64| given_low.unwrap_or_else(|| near(filled(h) + 0.10));
    let fits = |h: f64| {
        let a = rim - inside(h, h);
        let t = (rim - foot(h)) / h;
        let seat_bottom = h - (seat - rim + a) / (bur - t);
        let culet = h + (d / 2.0 - seat) / bur - PAVILION * d;
        seat_bottom >= low(h) + 0.45 + 0.60 && culet >= 0.65 && culet >= filled(h) + 0.10
    };
    let (least, most) = (K::Height.spec().least, K::Height.spec().most);
    let mut h = least;
    while h < most && !fits(h) {
        h = clean(h + 0.05);
    }
    let h = c.set(K::Height, h);
    c.set(K::FootHalfWidth, foot(h));
    let fill = c.set(K::FootFill, filled(h));
    c.set(K::OpeningBottom, low(h));
    let light = down(2.0 * (half_pitch - pocket - 0.36)).min(down(2.0 * (inside(h, fill) - 0.10)));
    c.set(K::LightHole, light.min(1.0));
    let tan = (rim - c.v[K::FootHalfWidth]) / h;
    c.set(K::BlockHalfWidth, up(c.v[K::FootHalfWidth] + tan * fill + 0.05).min(rim));
}

/// Height and foot together: the lowest collet on which stone, wire, bore and opening all fit.
fn collet(c: &mut Chain<'_>, rim: f64, claw: f64) {
    let d = c.v[K::Diameter];
    let bur = Deg(c.v[K::BurAngle] / 2.0).tan();
    let seat = rim - c.v[K::RimLand];
    let middle = c.v[K::GrooveDepth] + c.v[K::WebHeight] / 2.0;
    let floor = c.v[K::GrooveDepth] + c.v[K::WebHeight];
    let roof = floor + c.v[K::BoreHeight];
    let low = c.given.get(K::OpeningBottom).unwrap_or_else(|| lower_edge(2.0 * rim));
    let (wall, wire) = (c.v[K::Wall], c.v[K::Wire]);
    let inside_claw = SQRT_2 * (rim - claw / 2.0) - claw / 2.0 + CLAW_LET_IN.get();
    let foot = |h: f64| {
        let wanted = (rim - inside_claw) / (h - middle - 0.05).max(0.1);
        let tan = wanted.clamp(Deg(TAPER.0).tan(), Deg(TAPER.1).tan());
        down(rim - tan * h)
    };
    let given_foot = c.given.get(K::FootHalfWidth);
    let (sb, cb) = libm::sincos(libm::atan(2.0 * PAVILION));
    let fits = |h: f64| {
        let r = given_foot.unwrap_or_else(|| foot(h));
        let tan = (rim - r) / h;
        let a = wall * (1.0 + tan * tan).sqrt();
        let seat_bottom = h - (seat - rim + a) / (bur - tan);
        let culet = h + (d / 2.0 - seat) / bur - PAVILION * d;
        let clear = (r + tan * middle - a - wire) * sb - (floor + wire - culet) * cb;
        seat_bottom >= roof + CROWN && seat_bottom >= low + 0.45 + 0.60 && culet >= 0.65 && clear >= 0.15
    };
    let (least, most) = (K::Height.spec().least, K::Height.spec().most);
    let mut h = least;
    while h < most && !fits(h) {
        h = clean(h + 0.05);
    }
    let h = c.set(K::Height, h);
    c.set(K::FootHalfWidth, foot(h));
}

/// Default of the lower edge of the opening: a fifth of the width, 0.70 to 1.20.
fn lower_edge(width: f64) -> f64 {
    near(0.2 * width).clamp(0.70, 1.20)
}

fn opening(c: &mut Chain<'_>, w: f64) {
    let hinged = c.v.has(Part::Tube);
    if !hinged {
        c.set(K::OpeningBottom, lower_edge(w));
    }
    let low = c.v[K::OpeningBottom];
    let gap = c.given.get(K::Gap).unwrap_or(GAP.0);
    c.v[K::Gap] = gap;
    let d = Dims::of(&c.v);
    let top = c.set(K::OpeningTop, down(d.seat_bottom.get() - 0.45));
    let inside = d.inner_radius(Mm(low)).get();
    let half_bore = c.v[K::BoreWidth] / 2.0;
    let beside = near(0.11 * w).clamp(0.31, 0.45);
    let stop = if hinged {
        down((0.26 * w).min(inside - 0.10))
    } else {
        up((half_bore + beside).min((inside - 0.06).max(half_bore + 0.30)))
    };
    let stop = c.set(K::OpeningStop, stop);
    let skin = d.outer_radius(Mm(low)).get().min(d.outer_radius(Mm(top)).get());
    let out = if d.square { skin } else { (skin * skin - stop * stop).max(0.0).sqrt() };
    let by_metal = 2.0 * (out - 0.40) - STEP;
    let by_edge = if d.square { w } else { 2.0 * skin * libm::cos(Deg(45.5).radians()) };
    // The pocket below leaves 0.30 of rail.
    let by_pocket = if hinged {
        let (r, up) = (d.pocket_radius.get(), low - d.joint_height.get() - 0.31);
        if up >= r { w } else { w + gap - 2.0 * (r * r - up.max(0.0) * up.max(0.0)).sqrt() }
    } else {
        w
    };
    let width = c.set(K::OpeningWidth, down(by_metal.min(by_edge).min(by_pocket)));
    let bur = 0.8 * width.min(top - low);
    c.set(K::OpeningBur, if bur >= 0.4 { (bur * 10.0 + NOISE).floor() / 10.0 } else { down(bur) });
}

fn line(c: &mut Chain<'_>, w: f64, wrist: f64) {
    let middle =
        if c.v.has(Part::Tube) { c.v[K::TubeHeight] } else { c.v[K::GrooveDepth] + c.v[K::WebHeight] / 2.0 };
    let wanted = wrist + EASE + 2.0 * PI * middle;
    let pitch = w + c.given.get(K::Gap).unwrap_or(GAP.1);
    let n = c.set(K::Count, (wanted / pitch).round());
    let g = c.set(K::Gap, near(wanted / n - w).clamp(GAP.0, GAP.2));
    let most = (n / 3.0).floor().max(1.0);
    c.set(K::ClaspCount, (20.0 / (w + g)).round().clamp(1.0, most));
}
