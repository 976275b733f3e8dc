//! An attack with random chords: none that meets the normals is shorter than what was proved.

use super::forms::{Form, air, metal, proved};
use super::tests::{bodies, meshed, random};
use super::*;
use crate::parts::clasp::{ClaspPart, build};
use crate::walls::cell::angle;
use nalgebra::Vector3;

/// Chords tried; `COLLETLINE_CHORDS` asks for more.
fn chords() -> usize {
    std::env::var("COLLETLINE_CHORDS").ok().and_then(|n| n.parse().ok()).unwrap_or(100_000)
}

/// Where a line from a point meets the triangles that face away from it.
fn hit(m: &TriMesh, p: &Point3<f64>, d: &Vector3<f64>) -> Vec<(usize, Point3<f64>)> {
    let mut out = Vec::new();
    for t in 0..m.triangles.len() {
        let [a, b, c] = m.corners(t);
        let n = (b - a).cross(&(c - a));
        let down = d.dot(&n);
        if down <= 0.0 {
            continue;
        }
        let q = p + d * ((a - p).dot(&n) / down);
        let inside = [(a, b), (b, c), (c, a)].iter().all(|(x, y)| (y - x).cross(&(q - x)).dot(&n) >= 0.0);
        if inside && (q - p).dot(d) > 0.0 {
            out.push((t, q));
        }
    }
    out
}

fn turned_round(m: &TriMesh) -> TriMesh {
    let mut m = m.clone();
    m.triangles.iter_mut().for_each(|t| t.swap(1, 2));
    m
}

/// Tries `each` chords between points of a solid; how many met the normals.
fn attacked(name: &str, solid: &Solid, p: &Proof, inside: bool, each: usize, seed: &mut u64) -> usize {
    let limit = 15f64.to_radians();
    let m = meshed(solid, 4e-3).mesh;
    let sign = if inside { 1.0 } else { -1.0 };
    // In the air the triangles look the other way.
    let shown = if inside { m.clone() } else { turned_round(&m) };
    let on = |t: usize, q: &Point3<f64>| {
        let face = &solid.faces[m.face[t] as usize];
        let (d, n) = face.surface.signed_distance(q);
        let q = q - n * d;
        (q, face.normal(&q) * sign)
    };
    let land = |p: &Point3<f64>, all: &Proof| all.sharp.iter().any(|s| sharp::to_segment(p, s) < LAND);
    let (mut feasible, mut tries) = (0, 0);
    while feasible < each && tries < 40 * each {
        tries += 1;
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
        let t = ((random(seed) * m.triangles.len() as f64) as usize).min(m.triangles.len() - 1);
        let (a, b) = (random(seed), random(seed));
        let (a, b) = if a + b > 1.0 { (1.0 - a, 1.0 - b) } else { (a, b) };
        let [x, y, z] = m.corners(t);
        let (from, n) = on(t, &(x + (y - x) * a + (z - x) * b));
        // A direction within delta of the inward normal.
        let u = crate::solid::surface::square_to(&n);
        let turn = std::f64::consts::TAU * random(seed);
        let tilt = libm::tan(limit * random(seed));
        let d = (u * libm::cos(turn) + n.cross(&u) * libm::sin(turn)) * tilt - n;
        for (t, q) in hit(&shown, &from, &d) {
            let (to, out) = on(t, &q);
            let d = to - from;
            if d.norm() > 0.0
                && angle(&-d, &n) <= limit
                && angle(&d, &out) <= limit
                && !(land(&from, p) && land(&to, p))
            {
                feasible += 1;
                assert!(d.norm() >= p.lower.get() - 1e-9, "{name}: {} {}", d.norm(), p.lower.get());
            }
        }
    }
    assert!(feasible > each / 20, "{name}: {feasible} of {tries}");
    feasible
}

#[test]
fn no_random_feasible_chord_is_below_a_bound() {
    let mut seed = 23;
    let all: Vec<(bool, Form)> = metal()
        .into_iter()
        .chain(bodies())
        .map(|f| (true, f))
        .chain(air().into_iter().map(|f| (false, f)))
        .collect();
    let each = chords().div_ceil(all.len());
    let mut total = 0;
    for (inside, (name, tree, ..)) in &all {
        let (solid, p) = proved(tree, *inside);
        total += attacked(name, &solid, &p, *inside, each, &mut seed);
    }
    println!("{total} chords");
    assert!(total > chords() / 2, "{total}");
}

/// Plate and frame have thousands of facets, so fewer chords are tried.
#[test]
fn no_random_feasible_chord_of_the_clasp_is_below_its_bound() {
    let mut seed = 31;
    let text = std::fs::read_to_string("params/line-3.5-rose-block.jsonc").unwrap();
    let design = crate::params::read(&text).unwrap();
    for part in [ClaspPart::Plate, ClaspPart::Frame] {
        let solid = build(&design, part).unwrap().unwrap().solid;
        let p = of_part(&solid, Deg(15.0), 1, &[]).unwrap();
        let n = attacked(part.name(), &solid, &p, true, chords().div_ceil(50), &mut seed);
        println!("{}: {n} chords, bound {}", part.name(), p.lower.get());
    }
}
