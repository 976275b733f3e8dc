//! What a closed part must be, and where a mesh is not.

use super::Soup;
use crate::mesh::bvh::Aabb;
use crate::mesh::crossing::{collisions_within, is_flat};
use crate::mesh::mass::mass;
use crate::mesh::{TriMesh, components, pinched, twins};
use nalgebra::Point3;
use serde::Serialize;
use std::collections::BTreeMap;

/// Shells that are told inside from outside; more is a cloud of splinters.
const SHELLS: usize = 200;
/// Pairs of triangles that pass through each other, counted; and pairs that lie close enough to be tested. Sound meshes of
/// even triangles test some ten for each triangle.
const MOST_CROSSING: usize = 10_000;
const MOST_TESTED: usize = 200_000_000;
/// Code of what was not decided.
pub const UNDECIDED: &str = "undecided";
/// A bracelet part is larger than this and smaller than that, mm.
const SMALL: f64 = 0.8;
const LARGE: f64 = 400.0;

/// Something about a mesh that a person should know.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fault {
    /// For programs.
    pub code: &'static str,
    /// Whether the mesh is no part because of it; else it is a note.
    pub breaks: bool,
    /// What is wrong and what to do, in words.
    pub message: String,
    /// How many there are.
    pub count: usize,
    /// Where the first one is, mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<[f64; 3]>,
}

/// A mesh looked over.
#[derive(Clone, Debug, PartialEq)]
pub struct Examined {
    /// The triangles over welded vertices, without those that have two corners in one place.
    pub mesh: TriMesh,
    /// All that was found.
    pub faults: Vec<Fault>,
    /// Closed surfaces.
    pub shells: usize,
    /// Metal, mm3; of a broken mesh what the formula gives.
    pub volume_mm3: f64,
    /// Skin, mm2.
    pub area_mm2: f64,
    /// Size along x, y, z, mm.
    pub size_mm: [f64; 3],
}

impl Examined {
    /// Whether it is a part: closed, turned right, and nowhere through itself.
    #[must_use]
    pub fn sound(&self) -> bool {
        !self.faults.iter().any(|f| f.breaks)
    }
}

/// Holds a mesh against what a closed part must be.
#[must_use]
pub fn examine(soup: &Soup) -> Examined {
    let mut faults = Vec::new();
    let mut push = |code, breaks, count: usize, at: Option<Point3<f64>>, message: &str| {
        if count > 0 {
            let at = at.map(|p| [p.x, p.y, p.z]);
            faults.push(Fault { code, breaks, message: message.into(), count, at });
        }
    };
    let finite = |t: &&[Point3<f64>; 3]| t.iter().all(|p| p.coords.iter().all(|c| c.is_finite()));
    let kept: Vec<[Point3<f64>; 3]> = soup.triangles.iter().filter(finite).copied().collect();
    push(
        "not_a_number",
        true,
        soup.triangles.len() - kept.len(),
        kept.first().map(|t| t[0]),
        "triangles with a coordinate that is no number. The place is a neighbour's. Export the part again",
    );
    let empty = usize::from(soup.triangles.is_empty());
    push(
        "empty",
        true,
        empty,
        None,
        "there is no triangle in the file. Was the right body chosen on export?",
    );
    let (mut mesh, collapsed) = welded(&kept);
    push(
        "collapsed",
        false,
        collapsed.len(),
        collapsed.first().copied(),
        "triangles with two corners in one place; left out, they bound nothing",
    );
    let middle = |m: &TriMesh, t: usize| nalgebra::center(&m.corners(t)[0], &m.corners(t)[1]);
    let twice = repeated(&mut mesh);
    push(
        "double",
        true,
        twice.len(),
        twice.first().map(|&t| middle(&mesh, t)),
        "triangles lie in one place twice: two bodies share a wall, or a surface was exported twice. Join the bodies",
    );
    edges(&mesh, &mut push);
    let flat: Vec<usize> = (0..mesh.triangles.len()).filter(|&t| is_flat(&mesh.corners(t))).collect();
    push(
        "flat",
        false,
        flat.len(),
        flat.first().map(|&t| mesh.corners(t)[0]),
        "triangles without area (three corners in a line); harmless, but some slicers complain",
    );
    let mut shells = 0;
    if let Ok(twin) = twins(&mesh.triangles)
        && !mesh.triangles.is_empty()
    {
        let touching = pinched(&mesh, &twin).map(|t| mesh.corners(t)[0]);
        push(
            "pinched",
            true,
            usize::from(touching.is_some()),
            touching,
            "two sheets of the surface touch in one point: a joint without metal. Part them or let them overlap",
        );
        let solid: Vec<usize> =
            (0..mesh.triangles.len()).filter(|t| flat.binary_search(t).is_err()).collect();
        let thick = TriMesh {
            positions: mesh.positions.clone(),
            triangles: solid.iter().map(|&t| mesh.triangles[t]).collect(),
            face: Vec::new(),
        };
        let (crossing, tested) = collisions_within(&thick, MOST_CROSSING, MOST_TESTED);
        push(
            UNDECIDED,
            true,
            usize::from(tested == MOST_TESTED && crossing.is_empty()),
            None,
            &format!(
                "whether the surface passes through itself was given up after {MOST_TESTED} pairs of triangles: they are so \
                 long and thin that too many lie side by side. Export with more even triangles"
            ),
        );
        let decided = tested < MOST_TESTED;
        push(
            "crossing",
            true,
            crossing.len(),
            crossing.first().map(|&(i, _)| middle(&thick, i as usize)),
            "pairs of triangles pass through each other: bodies that overlap without being joined, or a surface folded \
             over itself. Join the bodies (not counted beyond ten thousand)",
        );
        shells = turned(&mesh, crossing.is_empty() && decided, &mut push);
    }
    let bounds = Aabb::around(&mesh.positions);
    let size = [0, 1, 2].map(|k| (bounds.max[k] - bounds.min[k]).max(0.0));
    let longest = size.iter().copied().fold(0.0, f64::max);
    let odd = |wide: f64| usize::from(!soup.unit_stated && wide > 0.0);
    if longest < SMALL {
        push(
            "unit",
            false,
            odd(longest),
            None,
            &format!(
                "the whole part is {longest:.3} mm long. Was it drawn in inches or centimetres? It would be {:.2} or \
                 {:.2} mm. An STL does not say its unit: export it in millimetres",
                longest * 25.4,
                longest * 10.0
            ),
        );
    } else if longest > LARGE {
        push(
            "unit",
            false,
            odd(longest),
            None,
            &format!(
                "the whole part is {longest:.0} mm long. Was it exported in micrometres? It would be {:.2} mm. An STL \
                 does not say its unit: export it in millimetres",
                longest / 1000.0
            ),
        );
    }
    let m = mass(&mesh);
    Examined { mesh, faults, shells, volume_mm3: m.volume, area_mm2: m.area, size_mm: size }
}

/// Vertices with the same coordinates become one; places of the triangles that collapse by that.
#[allow(clippy::cast_possible_truncation)]
fn welded(all: &[[Point3<f64>; 3]]) -> (TriMesh, Vec<Point3<f64>>) {
    // Adding zero turns -0 into 0.
    let key = |i: u32| all[i as usize / 3][i as usize % 3].coords.map(|c| c + 0.0);
    let less = |a: &u32, b: &u32| {
        let (p, q) = (key(*a), key(*b));
        p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y)).then(p.z.total_cmp(&q.z)).then(a.cmp(b))
    };
    let mut order: Vec<u32> = (0..3 * all.len() as u32).collect();
    order.sort_unstable_by(less);
    // Vertices are numbered in the order in which the file first names them.
    let mut first = vec![0_u32; order.len()];
    for group in order.chunk_by(|a, b| key(*a) == key(*b)) {
        group.iter().for_each(|&i| first[i as usize] = group[0]);
    }
    let mut number = vec![u32::MAX; order.len()];
    let mut mesh = TriMesh::default();
    let mut collapsed = Vec::new();
    for (t, corners) in all.iter().enumerate() {
        let f = [0, 1, 2].map(|k| first[3 * t + k] as usize);
        if f[0] == f[1] || f[1] == f[2] || f[2] == f[0] {
            collapsed.push(corners[0]);
            continue;
        }
        let ids = f.map(|i| {
            if number[i] == u32::MAX {
                number[i] = mesh.positions.len() as u32;
                mesh.positions.push(Point3::from(key(i as u32)));
            }
            number[i]
        });
        mesh.triangles.push(ids);
    }
    mesh.face = vec![0; mesh.triangles.len()];
    (mesh, collapsed)
}

/// Triangles with the same corners as an earlier one.
fn repeated(mesh: &mut TriMesh) -> Vec<usize> {
    let sorted = |t: usize| {
        let mut k = mesh.triangles[t];
        k.sort_unstable();
        (k, t)
    };
    let mut all: Vec<([u32; 3], usize)> = (0..mesh.triangles.len()).map(sorted).collect();
    all.sort_unstable();
    let mut out: Vec<usize> = all.windows(2).filter(|w| w[0].0 == w[1].0).map(|w| w[1].1).collect();
    out.sort_unstable();
    out
}

/// Edges that do not lie between exactly two triangles running opposite ways.
fn edges(mesh: &TriMesh, push: &mut impl FnMut(&'static str, bool, usize, Option<Point3<f64>>, &str)) {
    let mut all: Vec<(u32, u32, bool)> = Vec::with_capacity(3 * mesh.triangles.len());
    for t in &mesh.triangles {
        for k in 0..3 {
            let (a, b) = (t[k], t[(k + 1) % 3]);
            all.push((a.min(b), a.max(b), a < b));
        }
    }
    all.sort_unstable();
    let (mut open, mut many, mut against) = (Vec::new(), Vec::new(), Vec::new());
    for g in all.chunk_by(|x, y| (x.0, x.1) == (y.0, y.1)) {
        let at = nalgebra::center(&mesh.positions[g[0].0 as usize], &mesh.positions[g[0].1 as usize]);
        match g.len() {
            1 => open.push(at),
            2 if g[0].2 == g[1].2 => against.push(at),
            2 => {}
            _ => many.push(at),
        }
    }
    push(
        "open",
        true,
        open.len(),
        open.first().copied(),
        "edges with a triangle on one side only: the skin has a hole or a slit there. Close the body before export",
    );
    push(
        "shared",
        true,
        many.len(),
        many.first().copied(),
        "edges with more than two triangles: bodies meet along a line without being one. Join them or part them",
    );
    push(
        "against",
        true,
        against.len(),
        against.first().copied(),
        "edges whose two triangles face opposite ways: one is inside out. Let the drawing program unify the normals",
    );
}

/// Shells, and whether each is turned as its place inside or outside the others asks.
fn turned(
    mesh: &TriMesh,
    clear: bool,
    push: &mut impl FnMut(&'static str, bool, usize, Option<Point3<f64>>, &str),
) -> usize {
    let links = mesh.triangles.iter().flat_map(|t| {
        let t = t.map(|v| v as usize);
        [(t[0], t[1]), (t[1], t[2])]
    });
    let (label, _) = components(mesh.positions.len(), links);
    let mut shells: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (t, v) in mesh.triangles.iter().enumerate() {
        shells.entry(label[v[0] as usize]).or_default().push(t);
    }
    let part = |of: &[usize]| TriMesh {
        positions: mesh.positions.clone(),
        triangles: of.iter().map(|&t| mesh.triangles[t]).collect(),
        face: Vec::new(),
    };
    let first = |of: &[usize]| of.first().map(|&t| mesh.corners(t)[0]);
    if shells.len() == 1 {
        let inverted = mass(mesh).volume < 0.0;
        push(
            "inside_out",
            true,
            usize::from(inverted),
            mesh.positions.first().copied(),
            "the whole surface is inside out: every triangle shows its back. Flip the normals",
        );
        return 1;
    }
    if shells.len() > SHELLS {
        push(
            "shells",
            true,
            shells.len(),
            None,
            "separate closed surfaces are too many to tell bodies from hollows. Export one part at a time",
        );
        return shells.len();
    }
    let all: Vec<Vec<usize>> = shells.into_values().collect();
    let (mut wrong, mut hollows) = (Vec::new(), 0);
    for (i, s) in all.iter().enumerate() {
        let Some(p) = first(s) else { continue };
        let depth = if clear {
            (0..all.len()).filter(|&j| j != i && winding(mesh, &all[j], &p).abs() > 0.5).count()
        } else {
            0
        };
        hollows += depth % 2;
        if clear && (mass(&part(s)).volume < 0.0) != (depth % 2 == 1) {
            wrong.push(p);
        }
    }
    push(
        "inside_out",
        true,
        wrong.len(),
        wrong.first().copied(),
        "closed surfaces face the wrong way for where they lie: a body that is inside out, or a hollow turned into \
         metal. Flip their normals",
    );
    push(
        "bodies",
        false,
        all.len() - hollows,
        None,
        &format!("separate bodies in one file, {hollows} closed hollows in them"),
    );
    all.len()
}

/// Times a shell goes round a point: the sum of the solid angles of its triangles over a whole sphere (Van Oosterom and
/// Strackee, "The solid angle of a plane triangle", 1983).
fn winding(mesh: &TriMesh, shell: &[usize], p: &Point3<f64>) -> f64 {
    let mut sum = 0.0;
    for &t in shell {
        let [a, b, c] = mesh.corners(t).map(|q| q - p);
        let (x, y, z) = (a.norm(), b.norm(), c.norm());
        let over = a.dot(&b.cross(&c));
        let under = x * y * z + a.dot(&b) * z + b.dot(&c) * x + c.dot(&a) * y;
        sum += libm::atan2(over, under);
    }
    sum / std::f64::consts::TAU
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A box from `lo` to `hi`, turned inside out if asked.
    fn block(lo: [f64; 3], hi: [f64; 3], out: bool) -> Vec<[Point3<f64>; 3]> {
        let at = |i: usize| {
            Point3::new(
                if i & 1 == 0 { lo[0] } else { hi[0] },
                if i & 2 == 0 { lo[1] } else { hi[1] },
                if i & 4 == 0 { lo[2] } else { hi[2] },
            )
        };
        let quads = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
        quads
            .iter()
            .flat_map(|q| [[q[0], q[1], q[2]], [q[0], q[2], q[3]]])
            .map(|t| if out { t.map(at) } else { [at(t[0]), at(t[2]), at(t[1])] })
            .collect()
    }

    fn seen(triangles: Vec<[Point3<f64>; 3]>) -> Examined {
        examine(&Soup { triangles, form: "text STL", unit_stated: false })
    }

    fn codes(e: &Examined) -> Vec<&'static str> {
        e.faults.iter().map(|f| f.code).collect()
    }

    fn unit() -> Vec<[Point3<f64>; 3]> {
        block([0.0; 3], [1.0, 2.0, 3.0], true)
    }

    #[test]
    fn a_sound_block_has_no_fault_and_its_volume() {
        let e = seen(unit());
        assert!(e.faults.is_empty() && e.sound(), "{e:?}");
        assert!((e.volume_mm3 - 6.0).abs() < 1e-12 && (e.area_mm2 - 22.0).abs() < 1e-12);
        assert_eq!((e.mesh.positions.len(), e.shells, e.size_mm), (8, 1, [1.0, 2.0, 3.0]));
    }

    #[test]
    fn each_fault_is_told_with_its_place() {
        let mut holed = unit();
        holed.remove(3);
        let e = seen(holed);
        assert_eq!((codes(&e), e.faults[0].count, e.faults[0].at.is_some()), (vec!["open"], 3, true));
        let mut against = unit();
        against[4].swap(0, 1);
        assert_eq!(codes(&seen(against)), ["against"]);
        assert_eq!(codes(&seen(block([0.0; 3], [1.0; 3], false))), ["inside_out"]);
        let mut twice = unit();
        twice.push(twice[0]);
        assert_eq!(codes(&seen(twice)), ["double", "shared"]);
        let mut nan = unit();
        nan[2][1].y = f64::NAN;
        assert_eq!(codes(&seen(nan)), ["not_a_number", "open"]);
        assert_eq!(codes(&seen(Vec::new())), ["empty"]);
        let mut thin = unit();
        thin.push([thin[0][0], thin[0][0], thin[0][1]]);
        let e = seen(thin);
        assert!(codes(&e) == ["collapsed"] && e.sound());
    }

    #[test]
    fn bodies_that_cross_touch_or_lie_in_each_other() {
        let two = |b: Vec<[Point3<f64>; 3]>| seen(unit().into_iter().chain(b).collect());
        let crossing = two(block([0.5; 3], [4.0; 3], true));
        assert!(codes(&crossing).contains(&"crossing") && !crossing.sound());
        // Two blocks that share one edge: four triangles meet there.
        let edge = two(block([1.0, 2.0, 0.0], [2.0, 3.0, 3.0], true));
        assert!(codes(&edge).contains(&"shared"), "{:?}", codes(&edge));
        // One corner in common.
        let corner = two(block([1.0, 2.0, 3.0], [2.0, 3.0, 4.0], true));
        assert_eq!(codes(&corner), ["pinched"]);
        let hollow = two(block([0.25; 3], [0.75; 3], false));
        assert!(hollow.sound() && codes(&hollow) == ["bodies"] && (hollow.volume_mm3 - 5.875).abs() < 1e-12);
        let filled = two(block([0.25; 3], [0.75; 3], true));
        assert_eq!(codes(&filled), ["inside_out", "bodies"]);
        let apart = two(block([5.0; 3], [6.0; 3], true));
        assert!(apart.sound() && apart.shells == 2);
    }

    #[test]
    fn a_part_in_inches_or_micrometres_raises_a_question() {
        assert_eq!(codes(&seen(block([0.0; 3], [0.161; 3], true))), ["unit"]);
        let e = seen(block([0.0; 3], [4100.0; 3], true));
        assert!(codes(&e) == ["unit"] && e.sound() && e.faults[0].message.contains("4.10 mm"), "{e:?}");
        let stated = Soup { triangles: block([0.0; 3], [0.161; 3], true), form: "3MF", unit_stated: true };
        assert!(examine(&stated).faults.is_empty());
    }
}
