//! `motion`: how far the joint of a line swings before something touches.

use super::args::{Color, Format, Motion};
use super::make::{material, painted, read_design, unwritten};
use super::progress::patiently;
use super::summary::Paint;
use super::{Ended, files};
use crate::fold::fold;
use crate::motion::{ClaspMotion, JointMotion, Measured, MotionFinding, Moved, Movement, clasp_words, told};
use crate::papers::joint_picture::joint_pictures;
use crate::papers::motion_report::MotionReport;
use crate::params::Design;
use crate::parts::link::{self, LinkShape};
use crate::walls::Judgement;
use std::fmt::Write as _;
use std::io::IsTerminal as _;

/// Runs `motion`.
pub(super) fn motion(a: &Motion, color: Color, quiet: bool) -> Ended {
    let design = match read_design(&a.file, a.bench.as_deref(), a.format == Format::Json, color) {
        Ok(d) => d,
        Err(e) => return e,
    };
    let measured = patiently("turning joint and clasp until they touch", quiet, || {
        let built = link::build(&LinkShape::finished(&design)).map_err(|e| e.to_string())?;
        MotionReport::measured(&design, &built)
    });
    let (report, measured) = match measured {
        Ok(m) => m,
        Err(e) => {
            let stderr = format!("{}: {e}\n", a.file.display());
            return Ended { code: 2, stdout: String::new(), stderr };
        }
    };
    let stdout = match a.format {
        Format::Json => serde_json::to_string_pretty(&report).unwrap_or_default() + "\n",
        Format::Text => {
            text(design.name(), &report, Paint(painted(color, std::io::stdout().is_terminal())), quiet)
        }
    };
    if let (Some(folder), Some(measured)) = (&a.pictures, &measured) {
        let drawn = patiently("drawing", quiet, || pictures(&design, measured));
        let files = match drawn {
            Ok(f) => f,
            Err(e) => {
                let stderr = format!("{}: {e}\n", a.file.display());
                return Ended { code: 2, stdout, stderr };
            }
        };
        if let Err(e) = files::write_all(folder, &files) {
            return unwritten(&e);
        }
    }
    Ended { code: u8::from(report.verdict != Judgement::Pass), stdout, stderr: String::new() }
}

fn pictures(design: &Design, m: &Measured) -> Result<Vec<(String, Vec<u8>)>, String> {
    let open = [&m.standing, &m.neighbour].map(link::cut_open);
    joint_pictures(m, [&open[0], &open[1]], material(design))
        .map_err(|e| e.to_string())?
        .into_iter()
        .map(|(name, image)| Ok((name, image.png().map_err(|e| e.to_string())?)))
        .collect()
}

fn text(name: &str, r: &MotionReport, paint: Paint, quiet: bool) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let o = &mut out;
    if !quiet {
        let _ = writeln!(o, "{}", paint.bold(name));
        for n in &r.not_measured {
            let _ = writeln!(o, "{}", fold(n, 58).join("\n"));
        }
    }
    says(o, &r.binds, paint, quiet);
    if let Some(j) = &r.joint {
        if !quiet {
            joint(o, j, paint);
        }
        says(o, &j.findings, paint, quiet);
    }
    if let Some(c) = &r.clasp {
        if !quiet {
            clasp(o, c, paint);
        }
        says(o, &c.findings, paint, quiet);
    }
    if !quiet {
        let _ = writeln!(o, "what it rests on");
        let mut told: Vec<&str> = Vec::new();
        let joint = r.joint.iter().flat_map(|j| j.rests_on);
        for line in joint.chain(r.clasp.iter().flat_map(|c| c.rests_on)) {
            if !told.contains(line) {
                told.push(line);
                for (i, line) in fold(line, 56).into_iter().enumerate() {
                    let _ = writeln!(o, "{}{line}", if i == 0 { "  - " } else { "    " });
                }
            }
        }
    }
    out
}

fn joint(o: &mut String, m: &JointMotion, paint: Paint) {
    let joint = if m.joint == "wire_loop" { "wire loop" } else { "hinge tube" };
    let _ = writeln!(o, "joint     {joint}, {} end; stones of {:.2} mm, the largest", m.end, m.stones_mm);
    let [a, b] = &m.at_rest_between;
    let _ =
        writeln!(o, "at rest   {:.3} to {:.3} mm free, play shared out:", m.at_rest_mm[0], m.at_rest_mm[1]);
    let _ = writeln!(o, "          {} and {}", words(a), words(b));
    match m.on_wrist_mm {
        Some([low, high]) => {
            let _ = writeln!(o, "on wrist  {low:.3} to {high:.3} mm free");
        }
        None => {
            let _ = writeln!(o, "on wrist  the turn is not reached");
        }
    }
    let _ = writeln!(o, "\n{}", paint.bold("moves          free to  touches by  formula"));
    for x in &m.movements {
        movement(o, x, paint);
    }
    let _ = writeln!(o);
}

fn clasp(o: &mut String, m: &ClaspMotion, paint: Paint) {
    let _ = writeln!(o, "\n{}", paint.bold("clasp, shut                        room, mm"));
    for g in &m.at_rest {
        let parts = format!("{} and {}", g.parts[0], g.parts[1]);
        let _ = writeln!(o, "  {parts:<30} {:>7.3} to {:.3}", g.gap_mm[0], g.gap_mm[1]);
    }
    let _ = writeln!(o, "\n{}", paint.bold("clasp, opening                     free to  touches by"));
    for x in &m.movements {
        let touches = x.touches_by_deg.map_or_else(|| "-".to_owned(), |t| format!("{t:.1}"));
        let _ = writeln!(o, "  {:<32} {:>7.1} {touches:>11}", clasp_words(x.movement), x.free_to_deg);
        for [a, b] in x.between.iter().take(1) {
            let _ = writeln!(o, "    {} meets {}", plain(a), plain(b));
        }
    }
    for [a, b] in m.tongue.between.iter().take(1) {
        let _ = writeln!(o, "  the tongue holds where {} meets {}", plain(a), plain(b));
    }
    let _ = writeln!(o);
}

/// A face of the clasp in words: `frame.room.lug.left` is `frame: room lug left`.
fn plain(face: &str) -> String {
    match face.split_once('.') {
        Some((part, face)) => format!("{part}: {}", face.replace('.', " ")),
        None => face.to_owned(),
    }
}

fn says(o: &mut String, findings: &[MotionFinding], paint: Paint, quiet: bool) {
    for f in findings.iter().filter(|f| !quiet || f.verdict != Judgement::Pass) {
        let mark =
            if f.binds || f.verdict == Judgement::Pass { paint.verdict(f.verdict) } else { paint.note() };
        for (i, line) in fold(&f.says, 54).into_iter().enumerate() {
            let _ = writeln!(o, "{}  {line}", if i == 0 { mark.as_str() } else { "    " });
        }
        if f.verdict != Judgement::Pass && !f.parameters.is_empty() {
            for (i, line) in fold(&f.parameters.join(" or "), 47).into_iter().enumerate() {
                let _ = writeln!(o, "      {}{line}", if i == 0 { "change " } else { "       " });
            }
        }
    }
}

fn movement(o: &mut String, x: &Moved, paint: Paint) {
    let title = match x.movement {
        Movement::Inward => "inward",
        Movement::Back => "back",
        Movement::Sideways => "sideways, each",
        Movement::Twist => "twist, each",
    };
    let told = told(x);
    let touches = told.touches_by.unwrap_or_else(|| "-".to_owned());
    let formula = match (&x.closed_form, told.form, x.agrees) {
        (Some(c), Some(deg), Some(a)) => {
            use crate::motion::Is;
            let sign = match c.is {
                Is::Exact => "",
                Is::AtLeast => "at least ",
                Is::AtMost => "at most ",
            };
            let says = match a {
                Judgement::Pass => "agrees",
                Judgement::Fail => "CONTRADICTS",
                Judgement::Unverified => "open",
            };
            format!("{sign}{deg}, {says}")
        }
        _ => "none".to_owned(),
    };
    let _ = writeln!(o, "{title:<14} {:>7} {touches:>11}  {formula}", told.free_to);
    if x.turns_freely {
        let _ = writeln!(o, "  nothing touches");
    }
    let mut said: Vec<[String; 2]> = Vec::new();
    for [a, b] in &x.between {
        let pair = [words(a), words(b)];
        if !said.contains(&pair) {
            let _ = writeln!(o, "  {} meets {}", pair[0], pair[1]);
            said.push(pair);
        }
    }
    if x.stones_stop {
        let _ = writeln!(o, "  {}", paint.wrap("33", "a stone, not metal alone, is the stop"));
    }
}

/// A face in bench words; its own name where there are none.
fn words(face: &str) -> String {
    const WORDS: [(&str, &str); 22] = [
        ("wire.upper", "upper leg of the wire"),
        ("wire.lower", "lower leg of the wire"),
        ("wire.upright", "end of the wire"),
        ("wire.bend", "bend of the wire"),
        ("pin", "pin"),
        ("stone", "stone"),
        ("web", "web"),
        ("bore.left.floor", "web"),
        ("bore.right.floor", "web"),
        ("bore.left.roof", "roof of the bore"),
        ("bore.right.roof", "roof of the bore"),
        ("bore", "side of the bore"),
        ("groove", "groove"),
        ("claw", "claw"),
        ("collet.inside", "inside of the collet"),
        ("collet.hollow", "inside of the collet"),
        ("collet.outside", "end wall"),
        ("collet.corner", "corner of the collet"),
        ("collet.underside", "foot"),
        ("knuckle", "knuckle"),
        ("pocket", "pocket"),
        ("block", "foot block"),
    ];
    let known =
        WORDS.iter().find(|(w, _)| face.strip_prefix(w).is_some_and(|r| r.is_empty() || r.starts_with('.')));
    known.map_or(face, |k| k.1).to_owned()
}
