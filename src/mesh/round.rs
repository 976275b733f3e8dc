//! A mesh on the coordinates single precision can hold, as STL writes them.

use super::crossing::is_flat;
use super::gate::{GateError, Place};
use super::tessellate::FaceMesh;
use crate::solid::Solid;
use nalgebra::Point3;

/// Repairs tried: each removes a triangle pair or a flat triangle, so a mesh needing more is not worth saving.
const REPAIRS: usize = 1000;

/// The nearest point single precision can hold.
#[must_use]
#[allow(clippy::cast_possible_truncation)]
pub(super) fn round_point(p: &Point3<f64>) -> Point3<f64> {
    // Adding zero turns -0 into 0, so that equal points have equal bytes.
    Point3::from([p.x, p.y, p.z].map(|c| f64::from(c as f32 + 0.0)))
}

/// Rounds a mesh to single precision. The proved chord of each face grows by what its vertices moved: every point of a
/// facet is a mean of its corners, so it moves no farther. Where two neighbours on an edge become one point the edge loses
/// one of them; a triangle that has become flat is turned into its neighbour.
///
/// # Errors
/// [`GateError::TooFine`] where a feature is too small for single precision.
pub fn rounded(solid: &Solid, mesh: &FaceMesh) -> Result<FaceMesh, GateError> {
    let mut out = mesh.clone();
    let mut moved = Vec::with_capacity(mesh.mesh.positions.len());
    for p in &mut out.mesh.positions {
        let q = round_point(p);
        if !q.coords.iter().all(|c| c.is_finite()) {
            return Err(GateError::Range);
        }
        moved.push((q - *p).norm());
        *p = q;
    }
    let mut grown = vec![0.0_f64; out.chord.len()];
    for (t, &f) in out.mesh.triangles.iter().zip(&out.mesh.face) {
        for &v in t {
            grown[f as usize] = grown[f as usize].max(moved[v as usize]);
        }
    }
    out.chord.iter_mut().zip(&grown).for_each(|(c, g)| *c += g);
    let mut repaired = 0;
    while let Some(fault) = first_fault(&out) {
        repaired += 1;
        let done = repaired <= REPAIRS
            && match fault {
                Fault::Welded(v, u) => weld(&mut out, v, u) || weld(&mut out, u, v),
                Fault::Flat(t) => unflatten(&mut out, t),
            };
        if !done {
            let t = match fault {
                Fault::Flat(t) => t,
                Fault::Welded(v, _) => out.mesh.triangles.iter().position(|t| t.contains(&v)).unwrap_or(0),
            };
            return Err(GateError::TooFine(Place::of(solid, &out.mesh, &[t])));
        }
    }
    if repaired > 0 {
        compact(&mut out);
    }
    Ok(out)
}

#[derive(Clone, Copy)]
enum Fault {
    Welded(u32, u32),
    Flat(usize),
}

#[allow(clippy::cast_possible_truncation)]
fn first_fault(m: &FaceMesh) -> Option<Fault> {
    let mut used = vec![false; m.mesh.positions.len()];
    m.mesh.triangles.iter().flatten().for_each(|&v| used[v as usize] = true);
    let mut order: Vec<u32> = (0..used.len() as u32).filter(|&v| used[v as usize]).collect();
    let p = |v: u32| m.mesh.positions[v as usize];
    let compare = |a: &u32, b: &u32| {
        let (p, q) = (p(*a), p(*b));
        p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y)).then(p.z.total_cmp(&q.z)).then(a.cmp(b))
    };
    order.sort_by(compare);
    if let Some(w) = order.windows(2).find(|w| p(w[0]) == p(w[1])) {
        return Some(Fault::Welded(w[0], w[1]));
    }
    (0..m.mesh.triangles.len()).find(|&t| is_flat(&m.mesh.corners(t))).map(Fault::Flat)
}

/// Takes `v` out of the edge it divides, if `u` is its neighbour there and nothing else hangs on it.
fn weld(m: &mut FaceMesh, v: u32, u: u32) -> bool {
    let inner = |c: &Vec<u32>| c[1..c.len() - 1].iter().position(|&x| x == v).map(|i| i + 1);
    let Some((c, i)) = m.chains.iter().enumerate().find_map(|(k, c)| inner(c).map(|i| (k, i))) else {
        return false;
    };
    if m.chains[c][i - 1] != u && m.chains[c][i + 1] != u {
        return false;
    }
    let around = |w: u32| {
        let mut n: Vec<u32> = m
            .mesh
            .triangles
            .iter()
            .filter(|t| t.contains(&w))
            .flatten()
            .copied()
            .filter(|&x| x != w)
            .collect();
        n.sort_unstable();
        n.dedup();
        n
    };
    // Link condition: only the two triangles at the pair may connect both.
    let nu = around(u);
    if around(v).iter().filter(|x| nu.contains(x)).count() != 2 {
        return false;
    }
    m.chains[c].remove(i);
    let keep: Vec<bool> = m.mesh.triangles.iter().map(|t| !(t.contains(&v) && t.contains(&u))).collect();
    let mut it = keep.iter();
    m.mesh.face.retain(|_| *it.next().unwrap_or(&true));
    m.mesh.triangles.retain(|t| !(t.contains(&v) && t.contains(&u)));
    for t in &mut m.mesh.triangles {
        for x in t.iter_mut().filter(|x| **x == v) {
            *x = u;
        }
    }
    true
}

/// Replaces the longest side of a flat triangle by the other diagonal, within its face.
fn unflatten(m: &mut FaceMesh, t: usize) -> bool {
    let p = m.mesh.corners(t);
    let side = |k: usize| (p[(k + 1) % 3] - p[k]).norm_squared();
    let k = (1..3).fold(0, |k, j| if side(j) > side(k) { j } else { k });
    let tri = m.mesh.triangles[t];
    let (a, b, c) = (tri[k], tri[(k + 1) % 3], tri[(k + 2) % 3]);
    let found =
        m.mesh.triangles.iter().enumerate().find_map(|(j, s)| {
            (0..3).find(|&n| s[n] == b && s[(n + 1) % 3] == a).map(|n| (j, s[(n + 2) % 3]))
        });
    let Some((j, d)) = found else { return false };
    let there = m.mesh.triangles.iter().any(|s| s.contains(&c) && s.contains(&d));
    if m.mesh.face[j] != m.mesh.face[t] || there {
        return false;
    }
    let at = |v: u32| m.mesh.positions[v as usize];
    if is_flat(&[at(a), at(d), at(c)]) || is_flat(&[at(d), at(b), at(c)]) {
        return false;
    }
    m.mesh.triangles[t] = [a, d, c];
    m.mesh.triangles[j] = [d, b, c];
    true
}

/// Drops vertices no triangle uses.
#[allow(clippy::cast_possible_truncation)]
fn compact(m: &mut FaceMesh) {
    let mut used = vec![false; m.mesh.positions.len()];
    m.mesh.triangles.iter().flatten().for_each(|&v| used[v as usize] = true);
    let mut renamed = vec![u32::MAX; used.len()];
    let mut kept = Vec::new();
    for (v, _) in used.iter().enumerate().filter(|u| *u.1) {
        renamed[v] = kept.len() as u32;
        kept.push(m.mesh.positions[v]);
    }
    m.mesh.positions = kept;
    m.mesh.triangles.iter_mut().flatten().for_each(|v| *v = renamed[*v as usize]);
    m.chains.iter_mut().flatten().for_each(|v| *v = renamed[*v as usize]);
}
