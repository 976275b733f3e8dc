//! Pictures of two small turned parts made by hand. `cargo run --release --example pictures -- DIR`

// An example tells its user how long it took.
#![allow(clippy::print_stderr)]

mod turned;

use colletline::papers::picture::{Body, Image, Material, Scene, View, feature_edges, render, sheet};
use colletline::units::Tolerance;
use nalgebra::{Isometry3, UnitQuaternion, Vector3};
use std::path::Path;
use std::time::Instant;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let dir = std::env::args().nth(1).unwrap_or_else(|| "out".into());
    std::fs::create_dir_all(&dir)?;
    let fine = Tolerance::new(0.002).ok_or("tolerance")?;
    // A collet like a setting for a 4 mm stone: tapered skin, seat, open below, a turned line around the foot.
    let (collet, collet_solid) = turned::turned(
        &[
            [1.20, 0.05],
            [1.25, 0.0],
            [1.60, 0.0],
            [1.66, 0.06],
            [1.69, 0.42],
            [1.60, 0.47],
            [1.60, 0.60],
            [1.72, 0.66],
            [2.02, 2.55],
            [1.98, 2.60],
            [1.76, 2.60],
            [1.45, 2.29],
        ],
        160,
    );
    let (tube, tube_solid) = turned::turned(
        &[
            [0.55, 0.0],
            [0.80, 0.0],
            [0.85, 0.05],
            [0.85, 2.95],
            [0.80, 3.0],
            [0.55, 3.0],
            [0.50, 2.95],
            [0.50, 0.05],
        ],
        120,
    );
    let edges = feature_edges(&collet_solid, fine);
    let lying = Isometry3::from_parts(
        Vector3::new(-1.2, -3.4, 0.85).into(),
        UnitQuaternion::from_axis_angle(&Vector3::y_axis(), std::f64::consts::FRAC_PI_2),
    );
    let save = |name: &str, image: &Image| -> Result<(), Box<dyn std::error::Error>> {
        Ok(std::fs::write(Path::new(&dir).join(name), image.png()?)?)
    };
    for (name, material) in
        [("platinum", Material::Platinum), ("gold", Material::YellowGold), ("silver", Material::Silver)]
    {
        let body = Body::new(&collet, Some(&collet_solid), material).with_edges(edges.clone());
        let scene = Scene { bodies: vec![body] };
        let start = Instant::now();
        save(&format!("{name}.png"), &render(&scene, &View::ThreeQuarter.camera(), 1200, 900, 1)?)?;
        let took = start.elapsed().as_secs_f64();
        eprintln!("{name}: {} triangles, 1200 x 900, one thread, {took:.2} s", collet.triangles.len());
    }
    let mut scene = Scene {
        bodies: vec![
            Body::new(&collet, Some(&collet_solid), Material::Platinum).with_edges(edges),
            Body::new(&tube, Some(&tube_solid), Material::YellowGold)
                .with_edges(feature_edges(&tube_solid, fine))
                .at(lying),
        ],
    };
    let views = [View::ThreeQuarter, View::Side, View::End, View::Underside];
    save("pair.png", &sheet(&scene, &views, 1600, 1000, 2)?)?;
    scene.bodies.truncate(1);
    save("sheet.png", &sheet(&scene, &views, 1600, 1000, 2)?)?;
    Ok(())
}
