//! Distances between named faces that are known beforehand: those a bench drawing dimensions.

use crate::solid::Solid;
use crate::walls::{Kind, measure};

/// For each pair of faces that are parallel planes or coaxial surfaces of one slope: the places of their names in the solid, and how
/// far the surfaces are apart, mm to a millionth. From the surfaces' own numbers, so that no mesh enters.
pub(super) fn apart(solid: &Solid) -> Vec<(usize, usize, f64)> {
    let names: Vec<&str> = solid.faces.iter().map(|f| f.name.as_str()).collect();
    let mut out = Vec::new();
    for (i, a) in names.iter().enumerate() {
        for (j, b) in names.iter().enumerate().skip(i + 1) {
            // A name that stands for several faces has no one distance.
            if let Ok(m) = measure(solid, &[a], &[b], Kind::Level) {
                out.push((i, j, (m.value.get() * 1e6).round() / 1e6));
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::params::read;
    use crate::parts::link::{LinkShape, build};

    #[test]
    fn they_are_the_dimensions_of_the_file() {
        let design = read(include_str!("../../../params/line-4.0-platinum.jsonc")).unwrap();
        let solid = build(&LinkShape::finished(&design)).unwrap().solid;
        let all = apart(&solid);
        let of = |a: &str, b: &str| {
            all.iter()
                .find(|(i, j, _)| [(a, b), (b, a)].contains(&(&solid.faces[*i].name, &solid.faces[*j].name)))
                .map(|x| x.2)
        };
        // Height of the collet, and of the web between bore and groove, as the file gives them.
        assert_eq!(of("collet.underside", "collet.rim"), Some(2.75));
        assert_eq!(of("bore.right.floor", "groove.right.roof"), Some(0.6));
        // Square to each other: no distance.
        assert_eq!(of("collet.rim", "web.right.outside"), None);
    }
}
