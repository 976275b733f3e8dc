//! Distances between named faces that are known beforehand: those a bench drawing dimensions.

use crate::solid::Solid;
use crate::walls::levels;

/// For each face its family of parallel or coaxial surfaces and its place in it, mm to a hundred-millionth: from the surfaces' own
/// numbers, so that no mesh enters. Two faces of one family are as far apart as their places differ.
pub(super) fn apart(solid: &Solid) -> Vec<Option<(usize, f64)>> {
    levels(solid).into_iter().map(|l| l.map(|(k, at)| (k, (at * 1e8).round() / 1e8))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::params::read;
    use crate::parts::link::{LinkShape, build};
    use crate::walls::{Kind, measure};

    #[test]
    fn they_are_the_dimensions_of_the_file() {
        let design = read(include_str!("../../../params/line-4.0-platinum.jsonc")).unwrap();
        let solid = build(&LinkShape::finished(&design)).unwrap().solid;
        let all = apart(&solid);
        let at = |n: &str| all[solid.faces.iter().position(|f| f.name == n).unwrap()].unwrap();
        let of = |a: &str, b: &str| (at(a).0 == at(b).0).then(|| (at(a).1 - at(b).1).abs());
        // Height of the collet, and of the web between bore and groove, as the file gives them.
        assert!((of("collet.underside", "collet.rim").unwrap() - 2.75).abs() < 1e-7);
        assert!((of("bore.right.floor", "groove.right.roof").unwrap() - 0.6).abs() < 1e-7);
        // Square to each other: no distance.
        assert_eq!(of("collet.rim", "web.right.outside"), None);
        // Every pair that has one has the distance that is measured.
        let mut pairs = 0;
        for (i, a) in solid.faces.iter().enumerate() {
            for (j, b) in solid.faces.iter().enumerate().skip(i + 1) {
                let Some(((k, x), (l, y))) = all[i].zip(all[j]).filter(|(a, b)| a.0 == b.0) else { continue };
                assert_eq!(k, l);
                // A name that stands for several faces has no one distance.
                let one = [a, b].iter().all(|f| solid.faces_named(&f.name).len() == 1);
                if let Ok(m) = measure(&solid, &[&a.name], &[&b.name], Kind::Level)
                    && one
                {
                    assert!((m.value.get() - (x - y).abs()).abs() < 1e-7, "{} {}", a.name, b.name);
                    pairs += 1;
                }
            }
        }
        assert!(pairs > 100, "{pairs}");
    }
}
