//! Prints the recipe of a design's link as JSON, for another kernel to build the same part from.
//!
//! Usage: `tree FILE`

#![allow(clippy::print_stdout)]

use colletline::params;
use colletline::parts::link::{LinkShape, build};
use std::error::Error;

fn main() -> Result<(), Box<dyn Error>> {
    let file = std::env::args().nth(1).ok_or("usage: tree FILE")?;
    let design = params::read_bytes(&std::fs::read(file)?, &std::sync::Arc::default())
        .map_err(|p| p.into_iter().map(|p| p.message).collect::<Vec<_>>().join("; "))?;
    let built = build(&LinkShape::finished(&design))?;
    println!("{}", built.shape.tree().to_json());
    Ok(())
}
