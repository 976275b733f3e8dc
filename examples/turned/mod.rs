//! Solids of revolution by hand, for pictures that need no kernel: mesh and exact faces from one profile.

use colletline::mesh::TriMesh;
use colletline::solid::curve::Arc;
use colletline::solid::{Curve, Edge, Face, Solid, Surface};
use nalgebra::{Point3, Vector3};
use std::f64::consts::{PI, TAU};

/// Turns a closed profile of `[radius, height]` points in mm about z; seen with the radius to the right and the height up
/// it runs counter-clockwise around the material. `sectors` chords a turn.
pub(crate) fn turned(profile: &[[f64; 2]], sectors: u32) -> (TriMesh, Solid) {
    let n = profile.len();
    let (mut mesh, mut solid) =
        (TriMesh::default(), Solid { vertices: vec![], edges: vec![], faces: vec![], lumps: vec![] });
    let rings: Vec<u32> = profile
        .iter()
        .map(|&[r, z]| {
            let first = mesh.positions.len() as u32;
            for k in 0..if r > 0.0 { sectors } else { 1 } {
                let a = TAU * f64::from(k) / f64::from(sectors);
                mesh.positions.push(Point3::new(r * libm::cos(a), r * libm::sin(a), z));
            }
            first
        })
        .collect();
    let mut face_of = vec![0; n];
    for i in 0..n {
        let j = (i + 1) % n;
        let ([r0, z0], [r1, z1]) = (profile[i], profile[j]);
        if r0 == 0.0 && r1 == 0.0 {
            continue;
        }
        let (surface, outward) = if z0 == z1 {
            (Surface::plane(&Point3::new(0.0, 0.0, z0), &Vector3::z()), r1 < r0)
        } else {
            let slope = (r1 - r0) / (z1 - z0);
            (Surface::cone(&Point3::new(0.0, 0.0, z0), &Vector3::z(), r0, slope), z1 > z0)
        };
        face_of[i] = solid.faces.len();
        for k in 0..sectors {
            let at = |ring: usize, k: u32| rings[ring] + if profile[ring][0] > 0.0 { k % sectors } else { 0 };
            let (a, b, c, d) = (at(i, k), at(i, k + 1), at(j, k + 1), at(j, k));
            for t in [[a, b, c], [a, c, d]] {
                if t[0] != t[1] && t[1] != t[2] && t[2] != t[0] {
                    mesh.triangles.push(t);
                    mesh.face.push(face_of[i] as u32);
                }
            }
        }
        let name = format!("turned.{}", solid.faces.len());
        solid.faces.push(Face { name, surface, outward, seam: 0.0, loops: vec![] });
    }
    for i in 0..n {
        let [r, z] = profile[i];
        if r == 0.0 {
            continue;
        }
        let first = solid.vertices.len();
        solid.vertices.extend([Point3::new(r, 0.0, z), Point3::new(-r, 0.0, z)]);
        for (ends, s) in [([first, first + 1], 1.0), ([first + 1, first], -1.0)] {
            let arc = Arc {
                centre: Point3::new(0.0, 0.0, z),
                x: Vector3::x() * (r * s),
                y: Vector3::y() * (r * s),
                sweep: PI,
            };
            let faces = [face_of[i], face_of[(i + n - 1) % n]];
            solid.edges.push(Edge { ends, curve: Curve::Arc(arc), faces });
        }
    }
    (mesh, solid)
}
