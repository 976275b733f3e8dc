//! Writes wire parts and balls as STEP and STL into a folder, with what a handbook says of them, for the outside checks:
//! `cargo run --release --example rounds -- FOLDER`.

use colletline::masters::{step, stl};
use colletline::mesh::{checked, exact::solid_mass};
use colletline::parts::wires;
use colletline::solid::path::Path;
use colletline::solid::pipe::{End, ball, pipe};
use colletline::solid::{Frame, Solid};
use colletline::units::{Mm, Tolerance};
use nalgebra::{Point3, Vector3};
use std::error::Error;
use std::f64::consts::PI;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args().nth(1).ok_or("a folder is needed")?;
    let tolerance = Tolerance::new(0.005).ok_or("no tolerance")?;
    let mut told = serde_json::Map::new();
    for (name, solid) in all()? {
        let fine = checked(&solid, tolerance)?.mesh;
        let path = |kind: &str| format!("{folder}/{name}.{kind}");
        std::fs::write(path("step"), step::write(&solid, name))?;
        std::fs::write(path("stl"), stl::to_bytes(&fine.mesh)?)?;
        let mass = solid_mass(&solid);
        let mut kinds = std::collections::BTreeMap::new();
        for f in &solid.faces {
            *kinds.entry(f.surface.kind()).or_insert(0) += 1;
        }
        let one = serde_json::json!({
            "volume": mass.volume, "area": mass.area, "genus": solid.genus(), "faces": kinds, "tolerance": 0.005,
            "triangles": fine.mesh.triangles.len(),
        });
        told.insert(name.to_owned(), one);
    }
    std::fs::write(format!("{folder}/rounds.json"), serde_json::to_string_pretty(&told)?)?;
    Ok(())
}

fn all() -> Result<Vec<(&'static str, Solid)>, Box<dyn Error>> {
    let askew = {
        let z = Vector3::new(0.36, 0.48, 0.8);
        let x = Vector3::new(0.8, -0.6, 0.0);
        Frame::with_axes(Point3::new(3.0, -7.0, 11.0), x, z.cross(&x))
    };
    let ring = wires::ring(Mm(4.2), Mm(0.35))?;
    let probe = Path::start(Point3::origin(), &Vector3::x())?
        .line("probe.straight", 3.0)?
        .bend("probe.bend", &Vector3::z(), 1.0, 1.2)?
        .bend("probe.turn", &Vector3::y(), 0.8, 2.0)?
        .line("probe.tip", 1.5)?;
    let ends = [End::Ball("probe.knob".into(), 0.6), End::Ball("probe.round".into(), 0.3)];
    Ok(vec![
        ("ball", ball(Point3::new(1.0, 2.0, 3.0), 0.7, "ball")?),
        ("ring_askew", ring.moved(&askew)),
        ("ring", ring),
        ("pin", wires::pin(Mm(12.0), Mm(0.5), Mm(0.8))?),
        ("connecting_wire", wires::connecting_wire(Mm(3.0), Mm(1.5), Mm(0.45), Mm(0.55))?),
        ("u_wire", wires::u_wire(Mm(8.0), Mm(3.0), Mm(0.5), Mm(0.4))?),
        ("loop_in_loop", wires::loop_in_loop_link(Mm(4.2), Mm(0.35), Mm(0.7), Mm(0.8))?),
        ("probe", pipe(&probe, 0.3, Some(ends))?),
        ("tight", {
            let path = Path::start(Point3::origin(), &Vector3::y())?.line("hook.shank", 2.0)?;
            let path = path.bend("hook.bend", &Vector3::x(), 0.32, PI)?.line("hook.tip", 1.0)?;
            pipe(&path, 0.3, Some([End::Flat("hook.end".into()), End::Ball("hook.round".into(), 0.3)]))?
        }),
    ])
}
