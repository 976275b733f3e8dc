//! Links of every kind, built from the example designs.

use super::*;
use crate::mesh::exact::{SolidMass, solid_mass};
use crate::params::read;

const SQUARE: &str = include_str!("../../../params/line-4.0-platinum-square.jsonc");
const CUSHION: &str = include_str!("../../../params/line-3.0-silver-cushion.jsonc");
const BLOCK: &str = include_str!("../../../params/line-3.5-rose-block.jsonc");

/// The link of a file as another kind: its genus and mass.
fn built(file: &str, kind: &str) -> (i64, SolidMass) {
    let line = "\"kind\": \"line\"";
    assert!(kind == "line" || file.contains(line));
    let text = file.replace(line, &format!("\"kind\": \"{kind}\""));
    let link = build(&LinkShape::finished(&read(&text).unwrap())).unwrap();
    assert!(link.easings.is_empty());
    assert_eq!(link.solid.bodies().len(), 1);
    (link.solid.genus(), solid_mass(&link.solid))
}

/// Handles counted by hand. Wire loop: the ring, two openings, two bores. Hinge: the light hole, two openings, three knuckles'
/// bores.
#[test]
fn every_kind_of_link_is_one_body_with_its_handles() {
    assert_eq!(built(SQUARE, "line").0, 5);
    assert_eq!(built(CUSHION, "line").0, 6);
    assert_eq!(built(BLOCK, "line").0, 6);
    assert_eq!(built(CUSHION, "plain_left").0, 5);
    assert_eq!(built(CUSHION, "plain_right").0, 4);
}

/// Volume and area by exact slices of the shape, without any kernel (tests/outside/slices.py): converged to 1e-10.
#[test]
fn the_square_link_has_the_volume_and_area_of_its_slices() {
    let (_, m) = built(SQUARE, "line");
    assert!((m.volume - 17.997_841_198_9).abs() < 1e-7, "{m:?}");
    assert!((m.area - 92.264_310_848_1).abs() < 1e-6, "{m:?}");
}

#[test]
fn a_mirrored_link_weighs_the_same_and_leans_the_other_way() {
    for file in [CUSHION, BLOCK] {
        let ((_, line), (_, mirrored)) = (built(file, "line"), built(file, "mirrored"));
        assert!((line.volume - mirrored.volume).abs() < 1e-6 && (line.area - mirrored.area).abs() < 1e-6);
        assert!(line.centre[0] > 0.01 && (line.centre[0] + mirrored.centre[0]).abs() < 1e-6);
    }
}
