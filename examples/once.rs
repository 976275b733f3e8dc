//! One stage of the main job, once, with what it needs before it: for counts of instructions (`benches/instructions`).
//!
//! Usage: `once STAGE FILE`; a stage is `read`, `build` (the link), `mesh`, `walls` (its wear points), `write` (STL and STEP),
//! `leaf` (the clasp's leaf built and its thinnest places searched) or `motion` (the link folded back against its
//! neighbour). Every stage reads; `mesh`, `walls`, `write` and `motion` build, and `write` meshes. Prints a number that the
//! work came to, so that none of it can be left out.
#![allow(clippy::print_stdout)]

use colletline::masters::{step, stl};
use colletline::motion::{Joint, Movement};
use colletline::parts::clasp::{self, ClaspPart};
use colletline::parts::link::{self, LinkShape};
use colletline::units::{Mm, Tolerance};
use colletline::{mesh, params, walls};
use std::error::Error;

fn main() -> Result<(), Box<dyn Error>> {
    let [stage, file] = &std::env::args().skip(1).collect::<Vec<_>>()[..] else {
        return Err("once STAGE FILE".into());
    };
    let design = params::read_bytes(&std::fs::read(file)?, &std::sync::Arc::default())
        .map_err(|p| p.into_iter().map(|p| p.message).collect::<Vec<_>>().join("; "))?;
    let link = || link::build(&LinkShape::finished(&design));
    let meshed = |b: &link::Built| {
        mesh::checked(&b.solid, Tolerance::new(0.005).ok_or("tolerance")?).map_err(Box::<dyn Error>::from)
    };
    let came_to = match stage.as_str() {
        "read" => design.findings().len(),
        "build" => link()?.solid.faces.len(),
        "mesh" => meshed(&link()?)?.mesh.mesh.triangles.len(),
        "walls" => {
            let built = link()?;
            link::wear_points(&built.solid, &built.shape, design.state(), design.own()).len()
        }
        "write" => {
            let built = link()?;
            let m = meshed(&built)?;
            stl::to_bytes(&m.mesh.mesh)?.len() + step::write(&built.solid, "link").len()
        }
        "leaf" => {
            let leaf = clasp::build(&design, ClaspPart::Leaf).ok_or("no leaf")??;
            walls::thinnest(&leaf.solid, walls::DELTA_WEAR, 1, Mm(1.0)).thinnest.len()
        }
        "motion" => {
            let built = link()?;
            let joint = Joint::of(&design, &built.solid, &built.solid, Mm(0.0))?;
            joint.swing(Movement::Back).path.len()
        }
        other => return Err(format!("`{other}` is no stage").into()),
    };
    println!("{came_to}");
    Ok(())
}
