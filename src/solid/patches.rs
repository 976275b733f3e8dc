//! Connected patches of one surface, and the cut that keeps a patch from closing on itself round its axis.

use super::primitives::Tagged;
use super::registry::Registry;
use super::surface::{Cone, Surface};
use super::topology::Neighbours;
use nalgebra::{Point3, Vector3};
use std::collections::BTreeMap;
use std::f64::consts::{PI, TAU};

/// A face in the making.
#[derive(Clone, Debug)]
pub struct Patch {
    /// Number of its surface.
    pub surface: usize,
    /// Number of the primitive's face that covers most of it.
    pub face: usize,
    /// Angle on a cone where the patch is not.
    pub seam: f64,
    /// Middle and outward normal of its largest triangle.
    pub probe: (Point3<f64>, Vector3<f64>),
}

/// Splits the mesh into patches. Returns them and the patch of every triangle.
#[must_use]
#[allow(clippy::cast_precision_loss)]
pub fn patches(m: &Tagged, nb: &Neighbours, reg: &Registry) -> (Vec<Patch>, Vec<usize>) {
    let surface = |t: usize| reg.tags[m.tags[t]].surface;
    let strip = |t: usize| reg.tags[m.tags[t]].strip;
    let (whole, count) = flood(m, nb, |t| (surface(t), 0));
    let mut members: Vec<Vec<usize>> = vec![Vec::new(); count];
    for (t, &c) in whole.iter().enumerate() {
        members[c].push(t);
    }
    let cuts: Vec<Vec<usize>> = members
        .iter()
        .enumerate()
        .map(|(c, list)| {
            let Some(s) = list.first().map(|&t| surface(t)) else { return Vec::new() };
            let n = reg.strips(s);
            let Surface::Cone(cone) = reg.surfaces[s] else { return Vec::new() };
            let mut used = vec![false; n];
            list.iter().for_each(|&t| used[strip(t)] = true);
            if unused(&used).1 > 1 {
                return Vec::new();
            }
            let events = events(m, nb, &whole, c, list, &cone, n);
            let (a, b) = best_cut(n, &|j| reg.ruling(s, j), &events);
            vec![a.min(b), a.max(b)]
        })
        .collect();
    let divide = |cuts: &[Vec<usize>]| {
        flood(m, nb, |t| {
            let cuts = &cuts[whole[t]];
            (whole[t], cuts.partition_point(|&j| j <= strip(t)) % cuts.len().max(1))
        })
    };
    let (mut patch_of, mut count) = divide(&cuts);
    let pinches = pinches(m, nb, reg, &patch_of);
    // From a sixteenth of a turn down: what lies between the cuts must reach beyond both.
    for part in (4..16).map(|k| 1usize << k) {
        if pinches.is_empty() {
            break;
        }
        let mut more = cuts.clone();
        for &(t, at) in &pinches {
            let (s, n) = (surface(t), reg.strips(surface(t)));
            let Surface::Cone(cone) = reg.surfaces[s] else { continue };
            // The node's own ruling, met half a strip beyond it.
            let angle = cone.angle_height(&at).0 + PI / n as f64;
            let (j, away) = (reg.strip_at(s, angle), (n / part).max(1));
            more[whole[t]].extend([(j + away) % n, (j + n - away) % n]);
        }
        for c in &mut more {
            c.sort_unstable();
            c.dedup();
        }
        let (trial, parts) = divide(&more);
        if self::pinches(m, nb, reg, &trial).is_empty() {
            (patch_of, count) = (trial, parts);
            break;
        }
    }
    (describe(m, reg, &patch_of, count), patch_of)
}

/// Patches whose boundary meets itself in a node, so that it is no simple loop: a triangle there, and the node.
fn pinches(m: &Tagged, nb: &Neighbours, reg: &Registry, patch_of: &[usize]) -> Vec<(usize, Point3<f64>)> {
    let mut out = Vec::new();
    if reg.nodes().is_empty() {
        return out;
    }
    let at: BTreeMap<u32, Point3<f64>> =
        (0u32..).zip(&m.positions).filter(|(_, p)| reg.node_at(p).is_some()).map(|(v, p)| (v, *p)).collect();
    let mut starts: BTreeMap<(u32, usize), usize> = BTreeMap::new();
    for (t, v) in m.triangles.iter().enumerate() {
        for i in 0..3 {
            if let Some(p) = at.get(&v[i])
                && patch_of[nb[t][i] as usize] != patch_of[t]
            {
                let n = starts.entry((v[i], patch_of[t])).or_default();
                *n += 1;
                if *n == 2 {
                    out.push((t, *p));
                }
            }
        }
    }
    out
}

/// Connected components of equal key.
fn flood(m: &Tagged, nb: &Neighbours, key: impl Fn(usize) -> (usize, usize)) -> (Vec<usize>, usize) {
    let mut of = vec![usize::MAX; m.triangles.len()];
    let mut count = 0;
    let mut stack = Vec::new();
    for seed in 0..of.len() {
        if of[seed] != usize::MAX {
            continue;
        }
        let k = key(seed);
        of[seed] = count;
        stack.push(seed);
        while let Some(t) = stack.pop() {
            for &u in &nb[t] {
                let u = u as usize;
                if of[u] == usize::MAX && key(u) == k {
                    of[u] = count;
                    stack.push(u);
                }
            }
        }
        count += 1;
    }
    (of, count)
}

/// Longest run of unused strips round the axis: (first free strip, length).
fn unused(used: &[bool]) -> (usize, usize) {
    let n = used.len();
    let Some(first) = used.iter().position(|u| *u) else { return (0, n) };
    let (mut best, mut run) = ((0, 0), 0);
    for k in 1..=n {
        let i = (first + k) % n;
        if used[i] {
            if run > best.1 {
                best = ((i + n - run) % n, run);
            }
            run = 0;
        } else {
            run += 1;
        }
    }
    best
}

/// Two strips, about opposite, whose first rulings are as far as can be from everything on the boundary.
#[allow(clippy::cast_precision_loss)]
fn best_cut(n: usize, ruling: &dyn Fn(usize) -> f64, events: &[f64]) -> (usize, usize) {
    let clear: Vec<f64> = (0..n)
        .map(|j| {
            let a = ruling(j);
            let away = |e: &f64| {
                let d = (a - e).rem_euclid(TAU);
                d.min(TAU - d)
            };
            // Further than an eighth of a turn is no better.
            events.iter().map(away).fold(TAU / 8.0, f64::min)
        })
        .collect();
    let mut best = (-1.0, 0, 0);
    for j in 0..n {
        for apart in (n * 3 / 8)..=(n / 2) {
            let k = (j + apart) % n;
            let score = clear[j].min(clear[k]) + 1e-4 * apart as f64 / n as f64;
            // Angles of intersections carry noise near 1e-13.
            if score > best.0 + 1e-10 {
                best = (score, j, k);
            }
        }
    }
    (best.1, best.2)
}

/// Angles at which a cut would be badly conditioned: corners of the boundary, its angular extremes, its rulings.
#[allow(clippy::cast_precision_loss)]
fn events(
    m: &Tagged,
    nb: &Neighbours,
    whole: &[usize],
    c: usize,
    list: &[usize],
    cone: &Cone,
    n: usize,
) -> Vec<f64> {
    let mut at: BTreeMap<u32, Vec<(f64, usize)>> = BTreeMap::new();
    let mut out = Vec::new();
    for &t in list {
        for i in 0..3 {
            let other = whole[nb[t][i] as usize];
            if other == c {
                continue;
            }
            let (a, b) = (m.triangles[t][i], m.triangles[t][(i + 1) % 3]);
            let (pa, pb) = (&m.positions[a as usize], &m.positions[b as usize]);
            let ((ta, ha), (tb, hb)) = (cone.angle_height(pa), cone.angle_height(pb));
            let turn = (tb - ta + TAU / 2.0).rem_euclid(TAU) - TAU / 2.0;
            // Along a ruling, whose sign would be noise.
            let turn = if turn.abs() < 1e-9 { 0.0 } else { turn };
            let length = (pa - pb).norm();
            if turn.abs() < 0.05 * TAU / n as f64 && length > 1e-6 && (ha - hb).abs() > 0.7 * length {
                out.push(ta);
            }
            at.entry(a).or_default().push((turn, other));
            at.entry(b).or_default().push((-turn, other));
        }
    }
    for (v, e) in at {
        let smooth = matches!(*e, [(s, p), (t, q)] if p == q && s * t <= 0.0);
        if !smooth {
            out.push(cone.angle_height(&m.positions[v as usize]).0);
        }
    }
    out
}

/// Twice the area vector of a triangle.
fn area_vector(m: &Tagged, t: usize) -> Vector3<f64> {
    let [a, b, c] = m.triangles[t].map(|v| m.positions[v as usize]);
    (b - a).cross(&(c - a))
}

#[allow(clippy::cast_precision_loss)]
fn describe(m: &Tagged, reg: &Registry, patch_of: &[usize], count: usize) -> Vec<Patch> {
    let mut used: Vec<Vec<bool>> = vec![Vec::new(); count];
    let mut largest: Vec<(f64, usize)> = vec![(-1.0, 0); count];
    let mut share: Vec<BTreeMap<usize, f64>> = vec![BTreeMap::new(); count];
    for (t, &c) in patch_of.iter().enumerate() {
        let tag = reg.tags[m.tags[t]];
        let n = reg.strips(tag.surface);
        if n > 0 {
            used[c].resize(n, false);
            used[c][tag.strip] = true;
        }
        let a = area_vector(m, t).norm();
        *share[c].entry(tag.face).or_default() += a;
        if a > largest[c].0 {
            largest[c] = (a, t);
        }
    }
    (0..count)
        .map(|c| {
            let t = largest[c].1;
            let surface = reg.tags[m.tags[t]].surface;
            let seam = if used[c].is_empty() {
                0.0
            } else {
                let (first, run) = unused(&used[c]);
                let free: f64 = (first..first + run).map(|j| reg.width(surface, j % used[c].len())).sum();
                reg.ruling(surface, first) + free / 2.0
            };
            let [p, q, r] = m.triangles[t].map(|v| m.positions[v as usize].coords);
            let normal = area_vector(m, t).try_normalize(0.0).unwrap_or_else(Vector3::z);
            let mut face = reg.tags[m.tags[t]].face;
            let mut most = -1.0;
            for (&f, &a) in &share[c] {
                if a > most {
                    (face, most) = (f, a);
                }
            }
            Patch { surface, face, seam, probe: (Point3::from((p + q + r) / 3.0), normal) }
        })
        .collect()
}
