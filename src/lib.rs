//! `colletline` turns one parameter file into the exact, checked solid of a bracelet link.
//!
//! The data flows one way, and the modules are that flow:
//! [`params`] (what the maker wrote) -> [`solid`] (exact B-rep with named faces) -> [`mesh`] (triangles with a proven
//! bound) -> [`walls`] (thickness), [`motion`] (what turns until it touches) -> [`parts`] (the link: recipe and wear points) -> [`masters`] and [`papers`] (what
//! leaves the bench) -> [`cli`]. [`trade`] holds sourced tables, [`units`] the length types.
//!
//! ```
//! use colletline::params;
//! use colletline::parts::link::{LinkShape, build};
//!
//! let text = r#"{ "metal": { "alloy": "silver925" }, "stone": { "diameter": 3.0 }, "wearer": { "wrist": 165 } }"#;
//! let design = params::read(text).expect("a sane file");
//! let link = build(&LinkShape::finished(&design))?;
//! assert_eq!(link.solid.genus(), 5); // a ring, two openings, two bores
//! # Ok::<(), colletline::solid::BuildError>(())
//! ```

pub mod cli;
pub mod fold;
pub mod intake;
pub mod jigs;
pub mod life;
pub mod masters;
pub mod mesh;
pub mod motion;
pub mod papers;
pub mod params;
pub mod parts;
pub mod plan;
pub mod solid;
mod spelling;
pub mod trade;
pub mod units;
pub mod walls;
