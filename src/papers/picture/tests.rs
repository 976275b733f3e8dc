//! The renderer as a whole, against closed forms.

use super::*;
use crate::solid::{Face, Surface};
use nalgebra::{Translation3, Vector3};
use std::f64::consts::{PI, TAU};

/// A cube of side 1 about the origin, every face with its own number.
fn cube() -> TriMesh {
    let mut mesh = TriMesh::default();
    for axis in 0..3 {
        for side in [-0.5, 0.5] {
            let first = mesh.positions.len() as u32;
            for [a, b] in [[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]] {
                let mut p = Point3::origin();
                (p[axis], p[(axis + 1) % 3], p[(axis + 2) % 3]) = (side, a, b);
                mesh.positions.push(p);
            }
            let quad = if side > 0.0 { [0, 1, 2, 3] } else { [3, 2, 1, 0] }.map(|i| first + i);
            mesh.triangles.extend([[quad[0], quad[1], quad[2]], [quad[0], quad[2], quad[3]]]);
            mesh.face.extend([first / 4; 2]);
        }
    }
    mesh
}

/// A ball of radius 1 with `n` meridians.
fn ball(n: u32) -> TriMesh {
    let mut mesh = TriMesh::default();
    let m = n / 2;
    for j in 0..=m {
        let b = PI * f64::from(j) / f64::from(m);
        for i in 0..n {
            let a = TAU * f64::from(i) / f64::from(n);
            let r = libm::sin(b);
            mesh.positions.push(Point3::new(r * libm::cos(a), r * libm::sin(a), -libm::cos(b)));
        }
    }
    for j in 0..m {
        for i in 0..n {
            let (a, b) = (j * n + i, j * n + (i + 1) % n);
            mesh.triangles.extend([[a, b, b + n], [a, b + n, a + n]]);
            mesh.face.extend([0; 2]);
        }
    }
    mesh
}

/// A cylinder of radius 1 and height 2 about z with its exact solid: bottom, top, mantle.
fn cylinder(n: u32) -> (TriMesh, Solid) {
    let mut mesh = TriMesh::default();
    for z in [-1.0, 1.0] {
        for i in 0..n {
            let a = TAU * f64::from(i) / f64::from(n);
            mesh.positions.push(Point3::new(libm::cos(a), libm::sin(a), z));
        }
    }
    for i in 0..n {
        let j = (i + 1) % n;
        mesh.triangles.extend([[i, j, n + j], [i, n + j, n + i]]);
        mesh.face.extend([2, 2]);
        if i > 0 && j > 0 {
            mesh.triangles.extend([[0, j, i], [n, n + i, n + j]]);
            mesh.face.extend([0, 1]);
        }
    }
    let (o, z) = (Point3::origin(), Vector3::z());
    let face =
        |name: &str, surface, outward| Face { name: name.into(), surface, outward, seam: 0.0, loops: vec![] };
    let faces = vec![
        face("bottom", Surface::plane(&(o - z), &z), false),
        face("top", Surface::plane(&(o + z), &z), true),
        face("mantle", Surface::cone(&o, &z, 1.0, 0.0), true),
    ];
    (mesh, Solid { vertices: vec![], edges: vec![], faces, lumps: vec![] })
}

fn parallel(toward_eye: [f64; 3]) -> Camera {
    Camera {
        toward_eye: Vector3::from(toward_eye),
        up: Vector3::z(),
        projection: Projection::Orthographic,
        margin: 0.1,
    }
}

/// Covered area in square pixels, and pixels per mm.
fn silhouette(mesh: &TriMesh, camera: &Camera, size: usize) -> (f64, f64) {
    let scene = Scene { bodies: vec![Body::new(mesh, None, Material::Silver)] };
    let (stage, seen) = see(&scene, camera, size, size, 2).unwrap();
    let covered = (0..seen.height)
        .flat_map(|y| (0..seen.width).map(move |x| (x, y)))
        .filter(|&(x, y)| seen.id(x, y) > 0)
        .count();
    let (a, b) = (stage.lens.project(&Point3::origin()), stage.lens.project(&Point3::from(stage.lens.right)));
    (covered as f64 / (OVER * OVER) as f64, b[0] - a[0])
}

#[test]
fn the_silhouette_of_a_cube_has_its_closed_form_area() {
    // Projection of a unit cube along a unit vector d: |dx| + |dy| + |dz| (sum of its faces' projections, halved).
    for d in [[1.0, 0.0, 0.0], [0.55, -0.72, 0.50], [-0.3, 0.9, -0.2], [1.0, 1.0, 1.0]] {
        let (area, scale) = silhouette(&cube(), &parallel(d), 240);
        let n = Vector3::from(d).normalize();
        let expected = (n.x.abs() + n.y.abs() + n.z.abs()) * scale * scale;
        // The outline is at most 4 sqrt(2) sides long; a sample's width along it is the most counting can be wrong by.
        let bound = 4.0 * 2.0_f64.sqrt() * scale / OVER as f64;
        assert!((area - expected).abs() < bound, "{d:?}: {area} {expected}");
        assert!((area / expected - 1.0).abs() < 0.006, "{d:?}: {area} {expected}");
    }
}

#[test]
fn the_silhouette_of_a_ball_has_its_closed_form_area() {
    let (area, scale) = silhouette(&ball(256), &parallel([0.4, -0.7, 0.3]), 300);
    let expected = PI * scale * scale;
    // Outline times a sample's width would be 0.6 %; counting errors cancel to far less. Chords of 256 take 1e-4.
    assert!((area / expected - 1.0).abs() < 1e-3, "{area} {expected}");
}

#[test]
fn neighbours_leave_no_gap_and_the_ball_has_no_hole() {
    let mesh = ball(64);
    let scene = Scene { bodies: vec![Body::new(&mesh, None, Material::Silver)] };
    let (_, seen) = see(&scene, &View::ThreeQuarter.camera(), 120, 120, 1).unwrap();
    for y in 0..seen.height {
        let covered: Vec<usize> = (0..seen.width).filter(|&x| seen.id(x, y) > 0).collect();
        if let (Some(a), Some(b)) = (covered.first(), covered.last()) {
            assert_eq!(covered.len(), b - a + 1, "row {y}");
        }
    }
}

#[test]
fn the_nearer_body_hides_the_farther_in_either_order() {
    let mesh = cube();
    let near = Body::new(&mesh, None, Material::YellowGold).at(Translation3::new(0.0, -2.0, 0.0).into());
    let far = Body::new(&mesh, None, Material::Silver).at(Translation3::new(0.0, 2.0, 0.0).into());
    let n = mesh.triangles.len() as u32;
    for camera in [
        parallel([0.0, -1.0, 0.0]),
        Camera { projection: Projection::Perspective(crate::units::Deg(30.0)), ..parallel([0.0, -1.0, 0.0]) },
    ] {
        for (bodies, first) in
            [(vec![near.clone(), far.clone()], true), (vec![far.clone(), near.clone()], false)]
        {
            let (_, seen) = see(&Scene { bodies }, &camera, 60, 60, 1).unwrap();
            let id = seen.id(seen.width / 2, seen.height / 2);
            assert!(id > 0 && (id <= n) == first, "{id}");
        }
    }
}

#[test]
fn a_line_is_drawn_in_front_and_hidden_behind() {
    let mesh = cube();
    let line = |y: f64| vec![vec![Point3::new(-0.4, y, 0.1), Point3::new(0.4, y, 0.1)]];
    let inked = |edges: Vec<Vec<Point3<f64>>>| {
        let scene = Scene { bodies: vec![Body::new(&mesh, None, Material::Silver).with_edges(edges)] };
        let (_, seen) = see(&scene, &parallel([0.0, -1.0, 0.0]), 90, 90, 1).unwrap();
        let sum: f64 = (0..seen.height).map(|y| (0..seen.width).map(|x| seen.ink(x, y)).sum::<f64>()).sum();
        (sum, seen.width)
    };
    assert_eq!(inked(line(0.5)).0, 0.0);
    // Length 0.8 of a cube that fills 0.8 of the frame, width as drawn, round ends.
    let (sum, width) = inked(line(-0.5));
    let thick = 2.0 * LINE_LEAST * OVER as f64;
    let expected = 0.64 * width as f64 * thick;
    assert!((sum / expected - 1.0).abs() < 0.12, "{sum} {expected}");
}

#[test]
fn normals_are_those_of_the_exact_face_and_point_at_the_eye() {
    let (mesh, solid) = cylinder(24);
    let pose = Isometry3::new(Vector3::new(3.0, -1.0, 2.0), Vector3::new(0.3, -0.2, 0.5));
    let scene = Scene { bodies: vec![Body::new(&mesh, Some(&solid), Material::Platinum).at(pose)] };
    let (stage, seen) = see(&scene, &View::ThreeQuarter.camera(), 60, 60, 1).unwrap();
    let (mut mantle, mut top) = (0, 0);
    for y in (0..seen.height).step_by(2) {
        for x in (0..seen.width).step_by(2) {
            let Some(part) = (seen.id(x, y) as usize).checked_sub(1) else { continue };
            let at = |v: usize| (v as f64 + 0.5) / OVER as f64;
            let spot = stage.spot(part, at(x), at(y));
            let c = spot.normal.dot(&spot.look);
            assert!(c < -0.019, "{c}");
            if c > -0.021 {
                continue; // Bent into sight at the outline.
            }
            let p = pose.inverse_transform_point(&spot.point);
            let exact = if p.z > 0.999_999 {
                top += 1;
                Vector3::z()
            } else {
                mantle += 1;
                Vector3::new(p.x, p.y, 0.0).normalize()
            };
            assert!((spot.normal - pose * exact).norm() < 1e-9);
        }
    }
    assert!(mantle > 500 && top > 300, "{mantle} {top}");
}

#[test]
fn equal_scenes_give_equal_bytes_on_any_number_of_threads() {
    let (mesh, solid) = cylinder(48);
    let scene = Scene { bodies: vec![Body::new(&mesh, Some(&solid), Material::YellowGold)] };
    let take =
        |threads| render(&scene, &View::ThreeQuarter.camera(), 150, 110, threads).unwrap().png().unwrap();
    let one = take(1);
    assert!(one == take(1) && one == take(2) && one == take(5));
    let other = render(&scene, &View::Underside.camera(), 150, 110, 2).unwrap().png().unwrap();
    assert!(one != other);
}

#[test]
fn gold_is_yellow_and_the_part_shades_the_table() {
    let (mesh, solid) = cylinder(48);
    let scene = Scene { bodies: vec![Body::new(&mesh, Some(&solid), Material::YellowGold)] };
    let (stage, _) = see(&scene, &View::ThreeQuarter.camera(), 60, 60, 1).unwrap();
    let open = |x: f64| stage.table.open(&Point3::new(x, 0.0, -1.0));
    assert!(open(0.0) < 0.2 && open(1.3) < 0.8 && open(2.2) > open(1.3) && open(50.0) == 1.0);
    let image = render(&scene, &View::Side.camera(), 90, 90, 1).unwrap();
    let [r, g, b] = image.pixel(45, 50).unwrap().map(i32::from);
    assert!(r > g && g > b && r - b > 30, "{r} {g} {b}");
    assert_eq!(image.pixel(90, 0), None);
}

#[test]
fn a_png_reads_back_as_the_picture_and_holds_only_what_is_needed() {
    let mesh = cube();
    let scene = Scene { bodies: vec![Body::new(&mesh, None, Material::Silver)] };
    let views = [View::ThreeQuarter, View::Side, View::End, View::Underside];
    let image = sheet(&scene, &views, 320, 200, 2).unwrap();
    let bytes = image.png().unwrap();
    let mut reader = png::Decoder::new(std::io::Cursor::new(&bytes)).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut pixels).unwrap();
    assert_eq!((info.width, info.height), (320, 200));
    assert!(pixels == image.rgb());
    // Chunks: length, type, data, checksum.
    let (mut at, mut kinds) = (8, std::collections::BTreeSet::new());
    while at + 8 <= bytes.len() {
        let length = u32::from_be_bytes(bytes[at..at + 4].try_into().unwrap()) as usize;
        kinds.insert(String::from_utf8_lossy(&bytes[at + 4..at + 8]).into_owned());
        at += length + 12;
    }
    let allowed = ["IDAT", "IEND", "IHDR", "cHRM", "gAMA", "sRGB"];
    assert!(kinds.iter().all(|k| allowed.contains(&k.as_str())) && kinds.contains("sRGB"), "{kinds:?}");
}

#[test]
fn what_cannot_be_shown_is_an_error_not_a_panic() {
    let good = cube();
    let camera = View::Side.camera();
    let take = |mesh: &TriMesh, solid: Option<&Solid>, w, h| {
        let scene = Scene {
            bodies: vec![Body::new(&good, None, Material::Silver), Body::new(mesh, solid, Material::Silver)],
        };
        render(&scene, &camera, w, h, 1).err()
    };
    let mut bad = good.clone();
    bad.triangles[3][1] = 99;
    assert_eq!(take(&bad, None, 20, 20), Some(PictureError::Mesh { body: 1 }));
    let mut bad = good.clone();
    bad.positions[0].x = f64::NAN;
    assert_eq!(take(&bad, None, 20, 20), Some(PictureError::Mesh { body: 1 }));
    let empty = Solid { vertices: vec![], edges: vec![], faces: vec![], lumps: vec![] };
    assert_eq!(take(&good, Some(&empty), 20, 20), Some(PictureError::Mesh { body: 1 }));
    for (w, h) in [(0, 20), (20, 7), (usize::MAX, 20), (5000, 5000)] {
        assert_eq!(take(&good, None, w, h), Some(PictureError::Size { width: w, height: h }));
    }
    assert_eq!(take(&TriMesh::default(), None, 20, 20), None);
    assert_eq!(render(&Scene::default(), &camera, 20, 20, 1).err(), Some(PictureError::Empty));
    let scene = Scene { bodies: vec![Body::new(&good, None, Material::Silver)] };
    assert_eq!(sheet(&scene, &[], 200, 200, 1).err(), Some(PictureError::Empty));
    for size in 0..40 {
        // Too small for three views or not, it must not panic.
        let _ = sheet(&scene, &[View::Side, View::Top, View::End], size, 2 * size, 1);
    }
    assert!(sheet(&scene, &[View::Top], 20, 20, 1).is_ok());
}
