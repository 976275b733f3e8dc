//! `colletline` turns one parameter file into the exact, checked solid of a bracelet link.
//!
//! The data flows one way, and the modules are that flow:
//! [`params`] (what the maker wrote) -> [`parts`] (dimensions to solids) -> [`solid`] (exact B-rep with
//! named faces) -> [`mesh`] (triangles with a proven bound) -> [`walls`] (what is verified) ->
//! [`masters`] (what leaves the bench). [`trade`] holds sourced tables, [`units`] the length types.

pub mod cli;
pub mod masters;
pub mod mesh;
pub mod papers;
pub mod params;
pub mod parts;
pub mod solid;
pub mod trade;
pub mod units;
pub mod walls;
