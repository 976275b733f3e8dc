//! Times each stage of exact solids of growing size, and beside them the mesh boolean alone: the same recipe at the same
//! chord by manifold, without surfaces, faces or checks.
//!
//! Usage: `stages [--trees FOLDER] [FILE...]`; each FILE is a parameter file whose link is timed as well. With a folder, the
//! recipe of every row is written there as JSON, for other kernels to be timed on (`tests/long/stages`). Means of forty runs, ms of the
//! calling thread on the processor where the system tells them (Linux), so that other programs do not count; else by the
//! clock. The comparison with facets outside runs in a second thread of its own, as long as tessellation, boolean and
//! topology together; its column is what the first one has to do with it.

#![allow(clippy::print_stdout)]

use colletline::mesh;
use colletline::params;
use colletline::parts::link::LinkShape;
use colletline::solid::tree::{Shape, cylinder, prism, revolve, rounded_rectangle};
use colletline::solid::{Frame, Solid, Stage, Tree};
use colletline::units::Tolerance;
use manifold_rust::linalg::{Mat3x4, Vec2, Vec3};
use manifold_rust::manifold::Manifold;
use nalgebra::{Point3, Vector3};
use std::error::Error;
use std::time::Instant;

/// The chord the kernel starts from, mm.
const CHORD: f64 = 0.002;

/// Runs that are averaged; the system counts in steps of some milliseconds, which many runs even out.
const RUNS: usize = 40;

/// Milliseconds spent by this thread, from a start of its own.
fn now(start: Instant) -> f64 {
    let spent = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = spent.and_then(|s| s.split_whitespace().next()?.parse::<f64>().ok());
    nanoseconds.map_or_else(|| start.elapsed().as_secs_f64() * 1e3, |n| n / 1e6)
}

/// A plate with `n` features: bores, seats, posts and slots by turns.
fn plate(n: usize) -> Tree {
    let wide = 3.0 * n.max(1) as f64;
    let sides = ["front", "right", "back", "left"];
    let at = |z: f64, x: f64| Frame::at(Point3::new(x, 0.0, z));
    let body =
        prism(at(0.0, 0.0), rounded_rectangle([0.0, wide], [-2.0, 2.0], 0.5, sides), 1.5, ["under", "top"]);
    let (mut cuts, mut posts) = (Vec::new(), Vec::new());
    for i in 0..n {
        let (x, name) = (3.0 * i as f64 + 1.5, |part: &str| format!("{part}.{i}"));
        match i % 4 {
            0 => cuts.push(cylinder(at(-1.0, x), 0.8, 4.0, &name("bore"), ["low", "high"])),
            1 => cuts.push(revolve(
                at(0.5, x),
                &[(0.0, 0.0, "floor"), (0.4, 0.0, &name("seat")), (1.4, 1.0, "rim"), (0.0, 1.0, "")],
            )),
            2 => posts.push(cylinder(at(0.5, x), 0.7, 3.0, &name("post"), ["foot", "head"])),
            _ => {
                let across = Frame::along(Point3::new(x, -3.0, 0.9), &Vector3::y());
                cuts.push(cylinder(across, 0.4, 6.0, &name("cross"), ["low", "high"]));
            }
        }
    }
    body.minus(cuts).plus(posts)
}

/// Segments of a circle within the chord.
fn segments(radius: f64) -> i32 {
    (std::f64::consts::PI / libm::acos(1.0 - (CHORD / radius).min(0.2))).ceil() as i32
}

/// The same recipe as a mesh boolean.
fn meshed(tree: &Tree) -> Manifold {
    match tree {
        Tree::Primitive(p) => {
            let body = match &p.shape {
                Shape::Revolve(c) => {
                    let widest = c.iter().map(|c| c.radius).fold(0.0, f64::max);
                    let outline = c.iter().map(|c| Vec2 { x: c.radius, y: c.height }).collect();
                    Manifold::revolve(&vec![outline], segments(widest), 360.0)
                }
                // Corners as of a prism: near enough for a time.
                Shape::Taper(t) => {
                    let (q, n) = (t.half - t.corner, segments(t.corner) / 4 + 1);
                    let corner = |(i, (x, y)): (usize, (f64, f64))| {
                        (0..=n).map(move |k| {
                            let a = (i as f64 + f64::from(k) / f64::from(n)) * std::f64::consts::FRAC_PI_2;
                            Vec2 { x: x * q + t.corner * libm::cos(a), y: y * q + t.corner * libm::sin(a) }
                        })
                    };
                    let signs = [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)];
                    let outline = signs.into_iter().enumerate().flat_map(corner).collect();
                    let grown = 1.0 + t.slope * t.height / t.half;
                    Manifold::extrude(&vec![outline], t.height, 0, 0.0, Vec2 { x: grown, y: grown })
                }
                Shape::Prism { profile, height, .. } => {
                    let mut outline = Vec::new();
                    for (a, b) in profile.iter().zip(profile.iter().cycle().skip(1)) {
                        outline.push(Vec2 { x: a.at[0], y: a.at[1] });
                        let Some(arc) = a.arc else { continue };
                        let angle = |p: [f64; 2]| libm::atan2(p[1] - arc.centre[1], p[0] - arc.centre[0]);
                        let radius = libm::hypot(a.at[0] - arc.centre[0], a.at[1] - arc.centre[1]);
                        let sign = if arc.ccw { 1.0 } else { -1.0 };
                        let sweep = ((angle(b.at) - angle(a.at)) * sign).rem_euclid(std::f64::consts::TAU);
                        let n = (f64::from(segments(radius)) * sweep / std::f64::consts::TAU).ceil() as i32;
                        for k in 1..n {
                            let t = angle(a.at) + sign * sweep * f64::from(k) / f64::from(n);
                            let (s, c) = libm::sincos(t);
                            outline
                                .push(Vec2 { x: arc.centre[0] + radius * c, y: arc.centre[1] + radius * s });
                        }
                    }
                    let area: f64 = outline
                        .iter()
                        .zip(outline.iter().cycle().skip(1))
                        .map(|(a, b)| a.x * b.y - a.y * b.x)
                        .sum();
                    if area < 0.0 {
                        outline.reverse();
                    }
                    Manifold::extrude(&vec![outline], *height, 0, 0.0, Vec2 { x: 1.0, y: 1.0 })
                }
            };
            let v = |x: &Vector3<f64>| Vec3 { x: x.x, y: x.y, z: x.z };
            let f = &p.frame;
            body.transform(&Mat3x4 { x: v(&f.x), y: v(&f.y), z: v(&f.z), w: v(&f.origin.coords) })
        }
        Tree::Union(all) => all.iter().map(meshed).reduce(|a, b| a.union(&b)).unwrap_or_else(Manifold::empty),
        Tree::Difference(from, minus) => minus.iter().fold(meshed(from), |a, b| a.difference(&meshed(b))),
    }
}

fn mean(v: &[f64]) -> f64 {
    v.iter().sum::<f64>() / v.len() as f64
}

fn row(name: &str, tree: &Tree) -> Result<(), Box<dyn Error>> {
    const STAGES: [Stage; 6] =
        [Stage::Tessellate, Stage::Boolean, Stage::Topology, Stage::Guard, Stage::Assemble, Stage::Outer];
    let mut all: Vec<Vec<f64>> = vec![Vec::new(); STAGES.len() + 4];
    let (mut retries, mut faces, mut triangles, mut reference) = (0, 0, 0, 0);
    for _ in 0..RUNS {
        let mut spent = [0.0; STAGES.len()];
        let clock = Instant::now();
        let start = now(clock);
        let mut last = start;
        let (solid, effort) = Solid::build_watched(tree, &mut |stage| {
            let now = now(clock);
            if let Some(i) = STAGES.iter().position(|s| *s == stage) {
                spent[i] += now - last;
            }
            last = now;
        })?;
        let total = now(clock) - start;
        for (list, s) in all.iter_mut().zip(spent.iter().chain([&total])) {
            list.push(*s);
        }
        (retries, faces, triangles) = (effort.retries.len(), solid.faces.len(), effort.triangles);
        let start = now(clock);
        let checked = mesh::checked(&solid, Tolerance::new(0.005).ok_or("tolerance")?)?;
        all[7].push(now(clock) - start);
        let start = now(clock);
        mesh::witness::confirm(&solid, &checked.exact)?;
        all[8].push(now(clock) - start);
        let start = now(clock);
        reference = meshed(tree).num_tri();
        all[9].push(now(clock) - start);
    }
    let m: Vec<f64> = all.iter().map(|v| mean(v)).collect();
    let cells: Vec<String> = m.iter().map(|x| format!("{x:>9.2}")).collect();
    println!(
        "{name:<28} {faces:>5} {triangles:>9} {retries:>7} {}  {:>5.2}  {reference:>9}",
        cells.join(" "),
        m[6] / m[9]
    );
    Ok(())
}

fn main() -> Result<(), Box<dyn Error>> {
    println!(
        "{:<28} {:>5} {:>9} {:>7} {:>9} {:>9} {:>9} {:>9} {:>9} {:>9} {:>9} {:>9} {:>9} {:>9}  {:>5}  {:>9}",
        "",
        "faces",
        "triangles",
        "retries",
        "tessell.",
        "boolean",
        "topology",
        "guard",
        "assemble",
        "outer",
        "solid",
        "mesh",
        "witness",
        "manifold",
        "ratio",
        "triangles"
    );
    let mut files: Vec<String> = std::env::args().skip(1).collect();
    let mut folder = None;
    if files.first().is_some_and(|a| a == "--trees") {
        folder = files.get(1).map(std::path::PathBuf::from);
        files.drain(..2.min(files.len()));
    }
    let timed = |name: &str, tree: &Tree| {
        if let Some(folder) = &folder {
            std::fs::write(folder.join(format!("{name}.json")), tree.to_json().to_string())?;
        }
        row(name, tree)
    };
    for n in [0, 1, 2, 4, 8, 16, 32] {
        timed(&format!("plate, {n} features"), &plate(n))?;
    }
    for file in files {
        let design = params::read_bytes(&std::fs::read(&file)?, &std::sync::Arc::default())
            .map_err(|p| p.into_iter().map(|p| p.message).collect::<Vec<_>>().join("; "))?;
        let name =
            std::path::Path::new(&file).file_stem().map_or_else(String::new, |s| s.to_string_lossy().into());
        timed(&name, &LinkShape::finished(&design).tree())?;
    }
    Ok(())
}
