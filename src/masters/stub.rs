//! A round stub for the sprue, joined to the master as an exact solid.
//!
//! It stands where [`super::sprue`] finds the place: square on a flat of the underside. Where the flat has no room for its
//! diameter it narrows to a neck there, through which it is sawn off. It is sunk into the metal, so that the two are one body, and
//! that nothing of it comes out anywhere else is checked by the volume: the joined solid must be larger by just what stands out,
//! of which there is a closed form.
//!
//! Its sizes are those of the pattern: neither shrink nor polish is added to them.

use super::judged::{Judged, process};
use super::pattern::{Pattern, pattern};
use super::sprue::{SECTION, Sprue};
use crate::mesh::exact::solid_mass;
use crate::params::{Design, Key, Severity};
use crate::solid::tree::revolve;
use crate::solid::{BuildError, Frame, Solid, Surface, Tree};
use crate::trade::processes::Limit;
use crate::units::Tolerance;
use crate::walls::Judgement;
use nalgebra::{Point3, Vector3};
use serde::Serialize;
use std::f64::consts::PI;

/// Length of the neck under the flat, mm: a saw cut and a file's slip (proposal).
const NECK: f64 = 0.30;
/// Least length of the full diameter under the neck, mm: something to fuse the caster's sprue to (proposal).
const HOLD: f64 = 0.50;
/// How far it is sunk into the metal, mm; the second and third where the first comes out in a hollow, or only just touches another
/// face.
const SUNK: [f64; 3] = [0.12, 0.07, 0.043];
/// What both volumes, each a sum over some hundred faces, may be off by, as a share of the part's.
const SUMS: f64 = 1e-8;

/// What the file asks for, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    /// Diameter.
    pub diameter: f64,
    /// Length under the part.
    pub length: f64,
}

impl Asked {
    /// That of a design; none where the file asks for no stub.
    #[must_use]
    pub fn of(design: &Design) -> Option<Self> {
        let (diameter, length) = (design.get(Key::SprueDiameter), design.get(Key::SprueLength));
        (diameter > 0.0).then_some(Self { diameter, length })
    }
}

/// A stub as it is joined; lengths in the pattern enlarged alike along all axes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stub {
    /// The face it stands on.
    pub face: String,
    /// Middle of its foot.
    pub at_mm: [f64; 3],
    /// Diameter.
    pub diameter_mm: f64,
    /// Length under the flat.
    pub length_mm: f64,
    /// Diameter where it meets the flat.
    pub foot_mm: f64,
    /// Length of the neck, as thick as the foot; 0 where the whole stub is.
    pub neck_mm: f64,
    /// How far it is sunk into the part.
    pub sunk_mm: f64,
    /// Volume under the flat: what is sawn off.
    pub volume_mm3: f64,
}

/// Radii and lengths under the flat.
struct Shape {
    foot: f64,
    radius: f64,
    neck: f64,
    cone: f64,
    length: f64,
}

impl Shape {
    /// The stub over a foot; or the length that would be enough.
    fn of(asked: Asked, foot_mm: f64) -> Result<Self, f64> {
        let (foot, radius) = (foot_mm / 2.0, asked.diameter / 2.0);
        let cone = radius - foot;
        let neck = if cone > 0.0 { NECK } else { 0.0 };
        let least = neck + cone.max(0.0) + HOLD;
        if asked.length < least - 1e-9 {
            return Err((least * 10.0).ceil() / 10.0);
        }
        Ok(Self { foot, radius, neck, cone: cone.max(0.0), length: asked.length })
    }
    fn volume(&self) -> f64 {
        let Self { foot: f, radius: r, neck, cone, length } = *self;
        PI * (f * f * neck + cone / 3.0 * (f * f + f * r + r * r) + r * r * (length - neck - cone))
    }
    /// The recipe, under a flat at `at`, sunk into it.
    fn tree(&self, at: &Point3<f64>, sunk: f64) -> Tree {
        let frame = Frame::with_axes(at + Vector3::z() * sunk, Vector3::x(), -Vector3::y());
        let (end, open) = (sunk + self.length, sunk + self.neck);
        if self.neck <= 0.0 {
            return revolve(
                frame,
                &[
                    (0.0, 0.0, "sprue.sunk"),
                    (self.radius, 0.0, "sprue.side"),
                    (self.radius, end, "sprue.end"),
                    (0.0, end, ""),
                ],
            );
        }
        revolve(
            frame,
            &[
                (0.0, 0.0, "sprue.sunk"),
                (self.foot, 0.0, "sprue.neck"),
                (self.foot, open, "sprue.cone"),
                (self.radius, open + self.cone, "sprue.side"),
                (self.radius, end, "sprue.end"),
                (0.0, end, ""),
            ],
        )
    }
}

/// The exact solid of a part, enlarged by a factor, together with more.
pub(super) type Enlarged<'a> = dyn Fn(f64, &[Tree]) -> Result<Solid, BuildError> + 'a;

/// Joins a stub at the place found; `build` gives the exact solid of the part, enlarged by a factor, together with more.
///
/// # Errors
/// Why the place cannot take it and what would work, in bench words.
pub(super) fn join(
    asked: Asked,
    bare: &Pattern,
    sprue: &Sprue,
    tolerance: Tolerance,
    build: &Enlarged<'_>,
) -> Result<(Stub, Pattern), String> {
    let shape = Shape::of(asked, sprue.foot_mm).map_err(|least| {
        format!(
            "the stub of the sprue is too short: on a foot of {:.2} mm it needs a length of {least:.1} mm (master.sprue.length), or a \
             diameter of {:.1} mm or less (master.sprue.diameter)",
            sprue.foot_mm,
            (sprue.foot_mm * 10.0).floor() / 10.0
        )
    })?;
    let [x, y, z] = sprue.at_mm;
    // The place is told to a thousandth; the stub's length is measured from the flat itself.
    let level = bare.solid.faces.iter().filter(|f| f.name == sprue.face).find_map(|f| match &f.surface {
        Surface::Plane(p) => Some(p.normal.z * p.offset).filter(|l| (l - z).abs() < 2e-3),
        _ => None,
    });
    let at = Point3::new(x, y, level.unwrap_or(z));
    let most = bare.factors.iter().fold(bare.factors[0], |a, b| a.max(*b));
    let (before, out) = (bare.checked.exact.volume, shape.volume());
    let mut why = String::new();
    for sunk in SUNK {
        let stub = shape.tree(&at, sunk);
        let solid = match build(most, std::slice::from_ref(&stub)) {
            Ok(s) => s,
            Err(e) => {
                why = e.to_string();
                continue;
            }
        };
        let more = solid_mass(&solid).volume - before;
        let of_part = solid.faces.iter().filter(|f| !f.name.starts_with("sprue.")).count();
        let hidden = solid.faces.iter().any(|f| f.name.starts_with("sprue.sunk"));
        if (more - out).abs() > SUMS * before || of_part != bare.solid.faces.len() || hidden {
            why = "it comes out of the metal beside its foot, or meets the part again below".to_owned();
            continue;
        }
        let made = pattern(|_| Ok(solid), bare.factors, tolerance).map_err(|e| e.to_string())?;
        let round = |x: f64| (x * 1e3).round() / 1e3 + 0.0;
        let told = Stub {
            face: sprue.face.clone(),
            at_mm: [at.x, at.y, at.z].map(round),
            diameter_mm: asked.diameter,
            length_mm: asked.length,
            foot_mm: round(2.0 * shape.foot),
            neck_mm: shape.neck,
            sunk_mm: sunk,
            volume_mm3: out,
        };
        return Ok((told, made));
    }
    Err(format!(
        "the stub of the sprue cannot be joined on {}: {why}. A thinner one may (master.sprue.diameter), or leave it out and let the \
         caster set the sprue",
        sprue.face
    ))
}

/// Why there is no place, and what would work.
#[must_use]
pub fn no_place(asked: Asked) -> String {
    format!(
        "no flat of the underside takes a sprue stub of {:.2} mm clear of all detail: make it thinner (master.sprue.diameter), or leave \
         it out and let the caster set the sprue",
        asked.diameter
    )
}

const WORLD_GOLD: &str = "70 % of the section it joins (World Gold Council, Gold Technology, the sprue system design, which calls the \
rule of little use)";
const HEUVERS: &str = "Heuvers' circle method (giessereilexikon.com): no thinner than what it feeds";

/// What process and foundry ask of a stub; sizes in the pattern. `heaviest` is the diameter of the heaviest place it feeds.
#[must_use]
pub fn judged(design: &Design, stub: &Stub, sprue: &Sprue, heaviest: f64) -> Vec<Judged> {
    let p = process(design);
    let one = |title, severity, value_mm: f64, l: Limit, faces, change| Judged {
        title,
        severity,
        verdict: if value_mm >= l.value - 1e-9 { Judgement::Pass } else { Judgement::Fail },
        value_mm,
        least_mm: l.value,
        source: l.source,
        faces,
        change,
    };
    let share = Limit { value: (SECTION[0] / 100.0).sqrt() * sprue.joins_mm, source: WORLD_GOLD };
    let feeds = Limit { value: heaviest, source: HEUVERS };
    let thick: &[&str] = &["master.sprue.diameter"];
    // A neck is held at both ends, as a wall is.
    let foot: &[&str] = if stub.neck_mm > 0.0 { &["sprue.neck"] } else { &["sprue.side"] };
    let side: &[&str] = &["sprue.side"];
    vec![
        one("foot of the sprue stub for the process", Severity::Refuse, stub.foot_mm, p.wall, foot, thick),
        one("sprue stub for the process", Severity::Refuse, stub.diameter_mm, p.pin, side, thick),
        one("foot of the sprue stub for what it joins", Severity::Note, stub.foot_mm, share, foot, thick),
        one("sprue stub for the heaviest place", Severity::Note, stub.diameter_mm, feeds, side, thick),
    ]
}

impl Stub {
    /// In words, for the sheet: `alike` tells whether all axes are enlarged alike.
    #[must_use]
    pub fn words(&self, alike: bool) -> String {
        let [x, y, z] = self.at_mm;
        let neck = if self.neck_mm > 0.0 {
            format!(", narrowed to {:.2} mm over the first {:.2} mm", self.foot_mm, self.neck_mm)
        } else {
            String::new()
        };
        let size = if alike {
            "as given, in the pattern: neither shrink nor polish is added to it"
        } else {
            "as given along the axis that is enlarged most, drawn in with the part along the others"
        };
        format!(
            "stub joined to the master on `{}` at ({x:.2}, {y:.2}, {z:.2}): round, {:.2} mm, {:.2} mm long{neck}; {size}. It is not counted in \
             the weight of the casting. Saw it off just under the flat, held fast and with the eyes guarded, since it springs away; then \
             file and dress the place with the underside",
            self.face, self.diameter_mm, self.length_mm
        )
    }
}

#[cfg(test)]
mod tests {
    use super::super::castings::castings;
    use super::*;
    use crate::masters::castings::Casting;
    use crate::params::read;

    const ROUND: &str = include_str!("../../params/line-4.0-platinum.jsonc");
    const CUSHION: &str = include_str!("../../params/line-3.0-silver-cushion.jsonc");
    const SQUARE: &str = include_str!("../../params/line-4.0-platinum-square.jsonc");

    fn asked(file: &str, diameter: f64, length: f64) -> Design {
        let stub = format!(r#""sprue": {{ "diameter": {diameter}, "length": {length} }}"#);
        let text = if file.contains("\"master\": {") {
            file.replacen("\"master\": {", &format!("\"master\": {{ {stub}, "), 1)
        } else {
            let end = file.trim_end().trim_end_matches('}').trim_end().trim_end_matches(',');
            format!("{end}, \"master\": {{ {stub} }} }}")
        };
        read(&text).unwrap_or_else(|p| panic!("{p:?}"))
    }
    fn made(d: &Design, part: &str) -> Result<Casting, String> {
        let (_, mut list) = castings(d, Tolerance::new(0.005).unwrap(), &|p| p == part)?;
        Ok(list.remove(0))
    }

    /// Link and frame of round, cushion and square collets: one closed body, larger by just the stub, of which the closed form is the
    /// sum of cylinders and a frustum; all the faces of the part are still there and nothing is hidden in it.
    #[test]
    fn a_stub_is_one_body_with_link_and_frame_and_adds_what_stands_out() {
        for (file, part) in [(ROUND, "link"), (CUSHION, "link"), (SQUARE, "link"), (ROUND, "clasp.frame")] {
            let with = made(&asked(file, 1.5, 4.0), part).unwrap_or_else(|e| panic!("{part}: {e}"));
            let bare = made(&read(file).unwrap(), part).unwrap();
            let stub = with.stub.clone().unwrap();
            let [a, b] = [&bare, &with].map(|c| solid_mass(&c.pattern.solid).volume);
            let frustum = |r: f64, s: f64, h: f64| PI * h / 3.0 * (r * r + r * s + s * s);
            let (r, f, cone) = (0.75, stub.foot_mm / 2.0, 0.75 - stub.foot_mm / 2.0);
            let out =
                frustum(f, f, stub.neck_mm) + frustum(f, r, cone) + frustum(r, r, 4.0 - stub.neck_mm - cone);
            // The foot is told to a thousandth.
            assert!(
                (b - a - out).abs() < 2e-3 && (b - a - stub.volume_mm3).abs() < 1e-6,
                "{part}: {a} {b} {stub:?}"
            );
            let names =
                |c: &Casting| c.pattern.solid.faces.iter().map(|f| f.name.clone()).collect::<Vec<_>>();
            let (old, new) = (names(&bare), names(&with));
            assert_eq!(new.iter().filter(|n| !n.starts_with("sprue.")).count(), old.len());
            assert!(old.iter().all(|n| new.contains(n)) && new.iter().all(|n| !n.contains("sunk")));
            assert!(with.pattern.solid.whole().is_ok());
            let low = with.pattern.solid.vertices.iter().map(|v| v.z).fold(f64::MAX, f64::min);
            assert!((low - (stub.at_mm[2] - 4.0)).abs() < 2e-3, "{low} {stub:?}");
            // What fills and freezes is told of the part without it.
            assert!(with.flow.unwrap().heavy.iter().all(|h| h.at_mm[2] > stub.at_mm[2]));
        }
    }

    #[test]
    fn a_stub_keeps_its_size_when_the_part_is_enlarged() {
        let design = asked(ROUND, 1.5, 4.0);
        let k = super::super::compensation::Compensation::of(&design).factors[0];
        let c = made(&design, "link").unwrap();
        let v = &c.pattern.solid.vertices;
        let end = v.iter().map(|v| v.z).fold(f64::MAX, f64::min);
        assert!(k > 1.01 && (end + 4.0).abs() < 1e-9, "{k} {end}");
    }

    #[test]
    fn each_rule_of_the_stub_is_passed_and_tripped() {
        let rules = |d: f64, l: f64| made(&asked(ROUND, d, l), "link").unwrap().rules;
        let (thick, thin) = (rules(1.5, 4.0), rules(0.35, 2.0));
        for (title, severity) in [
            ("foot of the sprue stub for the process", Severity::Refuse),
            ("sprue stub for the process", Severity::Refuse),
            ("foot of the sprue stub for what it joins", Severity::Note),
            ("sprue stub for the heaviest place", Severity::Note),
        ] {
            let of = |list: &[Judged]| list.iter().find(|r| r.title == title).cloned().unwrap();
            let (pass, fail) = (of(&thick), of(&thin));
            assert_eq!((pass.verdict, fail.verdict), (Judgement::Pass, Judgement::Fail), "{title}");
            assert_eq!(pass.severity, severity);
            assert!(pass.change.iter().all(|c| Key::at(c).is_some()) && pass.source.len() > 8);
        }
    }

    #[test]
    fn a_stub_that_is_too_short_or_has_no_place_is_told_with_what_works() {
        let why = made(&asked(ROUND, 3.0, 1.0), "link").unwrap_err();
        assert!(
            why.starts_with("the link: the stub of the sprue is too short") && why.contains("2.0 mm (master"),
            "{why}"
        );
    }

    /// A disc of radius 2 with a peg of 0.3 under its middle: a stub of 1.5 stands beside the peg with 0.3 of room, one of 3.6 nowhere.
    #[test]
    fn a_stub_keeps_clear_of_what_hangs_lower() {
        use crate::masters::flow::Flow;
        use crate::solid::tree::cylinder;
        use crate::trade::processes::PROCESSES;
        let bar = |z: f64, r: f64, h: f64, name: &str| {
            cylinder(
                Frame::at(Point3::new(0.0, 0.0, z)),
                r,
                h,
                name,
                [&format!("{name}.under"), &format!("{name}.top")],
            )
        };
        let s = Solid::build(&bar(0.0, 2.0, 1.0, "disc").plus(vec![bar(-1.0, 0.3, 1.5, "peg")])).unwrap();
        let sprue = |d: f64| Flow::of(&s, solid_mass(&s).volume, &PROCESSES[0], 0.6, Some(d)).unwrap().sprue;
        let Sprue { face, at_mm: [x, y, _], foot_mm, .. } = sprue(1.5).unwrap();
        assert!(
            face == "disc.under" && libm::hypot(x, y) > 0.3 + 0.75 + 0.3 - 0.01 && foot_mm < 1.5,
            "{x} {y} {foot_mm}"
        );
        assert_eq!(sprue(3.6).filter(|s| s.face == "disc.under"), None);
    }

    #[test]
    fn a_length_without_a_diameter_and_a_stub_on_printed_metal_are_refused() {
        let told = |master: &str| {
            let text = ROUND.replacen("\"master\": {", &format!("\"master\": {{ {master}, "), 1);
            read(&text.replace(r#""metal": { "shrink": 1.8, "compensated_by": "us" },"#, "")).unwrap_err()
        };
        let list = told(r#""sprue": { "length": 3 }"#);
        assert!(list.iter().any(|p| p.code == "key.no_part" && p.path == "master.sprue.length"), "{list:?}");
        let list = told(r#""process": "direct_metal", "sprue": { "diameter": 1.5 }"#);
        assert!(
            list.iter().any(|p| p.code == "key.no_part" && p.path == "master.sprue.diameter"),
            "{list:?}"
        );
    }
}
