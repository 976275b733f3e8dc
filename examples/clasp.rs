//! Builds every part of the clasp of a parameter file and tells volume, faces and time.
//!
//! Usage: `clasp FILE...`

#![allow(clippy::print_stdout)]

use colletline::mesh;
use colletline::params;
use colletline::parts::clasp::{ClaspPart, build};
use colletline::units::Tolerance;
use std::error::Error;
use std::time::Instant;

fn main() -> Result<(), Box<dyn Error>> {
    let tolerance = Tolerance::new(0.005).ok_or("tolerance")?;
    for file in std::env::args().skip(1) {
        let design = params::read(&std::fs::read_to_string(&file)?).map_err(|p| format!("{p:?}"))?;
        println!("{file}");
        for part in ClaspPart::ALL {
            let start = Instant::now();
            match build(&design, part) {
                None => println!("  bought"),
                Some(Err(e)) => {
                    println!("  {:18} REFUSED {:.2} s: {e}", part.name(), start.elapsed().as_secs_f64())
                }
                Some(Ok(p)) => {
                    let built = start.elapsed().as_secs_f64();
                    let text = match mesh::checked(&p.solid, tolerance) {
                        Ok(m) => {
                            format!("{:.4} mm3, {} triangles", m.exact.volume, m.mesh.mesh.triangles.len())
                        }
                        Err(e) => format!("GATE {e}"),
                    };
                    println!(
                        "  {:18} {} faces, genus {}, {text}; {built:.2} s + {:.2} s",
                        p.name,
                        p.solid.faces.len(),
                        p.solid.genus(),
                        start.elapsed().as_secs_f64() - built
                    );
                }
            }
        }
    }
    Ok(())
}
