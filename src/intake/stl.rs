//! STL, binary or text (3D Systems, "StereoLithography Interface Specification", 1988).

use super::{IntakeError, MOST, Soup};
use crate::spelling::shorten;
use nalgebra::Point3;

/// Bytes before the first triangle of a binary STL, and bytes of each.
const HEAD: usize = 84;
const FACET: usize = 50;

/// Binary if the length is exactly that of the triangles announced, whatever it begins with: many binary files begin
/// with `solid` although they must not. Else text if it begins with `solid`.
pub(super) fn read(bytes: &[u8]) -> Result<Soup, IntakeError> {
    let said = bytes.get(80..HEAD).and_then(|b| b.try_into().ok()).map(u32::from_le_bytes);
    let found = bytes.len().saturating_sub(HEAD) / FACET;
    if let Some(said) = said
        && HEAD + said as usize * FACET == bytes.len()
    {
        return Ok(binary(bytes));
    }
    let start = bytes.iter().position(|b| !b.is_ascii_whitespace()).unwrap_or(0);
    if bytes[start..].len() >= 5 && bytes[start..start + 5].eq_ignore_ascii_case(b"solid") && plain(bytes) {
        return text(bytes);
    }
    match said {
        Some(said) if found > 0 && !plain(bytes) => Err(IntakeError::Length { said, found }),
        _ => Err(IntakeError::NotStl),
    }
}

/// Whether the first lines hold no byte that text does not.
fn plain(bytes: &[u8]) -> bool {
    bytes.iter().take(1000).all(|b| !b.is_ascii_control() || b.is_ascii_whitespace())
}

fn binary(bytes: &[u8]) -> Soup {
    let number = |at: usize| {
        let b = bytes.get(at..at + 4).and_then(|b| b.try_into().ok()).map_or(f32::NAN, f32::from_le_bytes);
        f64::from(b)
    };
    let corner = |at: usize| Point3::new(number(at), number(at + 4), number(at + 8));
    let triangles = (HEAD..bytes.len())
        .step_by(FACET)
        .map(|at| [corner(at + 12), corner(at + 24), corner(at + 36)])
        .collect();
    Soup { triangles, form: "binary STL", unit_stated: false }
}

/// Words of the form `facet normal x y z / outer loop / vertex x y z (three times) / endloop / endfacet`.
fn text(bytes: &[u8]) -> Result<Soup, IntakeError> {
    let text = String::from_utf8_lossy(bytes);
    let wrong = |line: usize, what: String| IntakeError::Text { line: line + 1, what };
    let mut triangles = Vec::new();
    let mut corners: Vec<Point3<f64>> = Vec::with_capacity(3);
    let (mut inside, mut last) = (false, 0);
    for (k, line) in text.lines().enumerate() {
        last = k;
        let mut words = line.split_ascii_whitespace();
        let Some(first) = words.next() else { continue };
        match first.to_ascii_lowercase().as_str() {
            "facet" if inside => return Err(wrong(k, "a facet begins before the last one ended".into())),
            "facet" => inside = true,
            "vertex" => {
                let mut c = [0.0; 3];
                for x in &mut c {
                    let word = words.next().unwrap_or("");
                    // `nan` and `inf` are numbers here; the examination tells where they are.
                    *x = word
                        .parse()
                        .map_err(|_| wrong(k, format!("`{}` is not a coordinate", shorten(word))))?;
                }
                // Single precision, as in the binary form, so that both weld alike.
                #[allow(clippy::cast_possible_truncation)]
                corners.push(Point3::from(c.map(|x: f64| f64::from(x as f32))));
            }
            "endfacet" => {
                let three: Result<[Point3<f64>; 3], _> = std::mem::take(&mut corners).try_into();
                let three =
                    three.map_err(|c| wrong(k, format!("this facet has {} corners, not 3", c.len())))?;
                triangles.push(three);
                if triangles.len() > MOST {
                    return Err(IntakeError::TooMany(triangles.len()));
                }
                inside = false;
            }
            "solid" | "endsolid" | "outer" | "endloop" => {}
            _ => return Err(wrong(k, format!("`{}` is no word of a text STL", shorten(first)))),
        }
    }
    if inside {
        return Err(wrong(last, "the file ends within a facet: it was cut short".into()));
    }
    Ok(Soup { triangles, form: "text STL", unit_stated: false })
}

#[cfg(test)]
mod tests {
    use super::super::read;
    use super::*;

    const ONE: &str = "solid a\n facet normal 0 0 1\n outer loop\n vertex 0 0 0\n vertex 1 0 0\n vertex 0 1 0\n endloop\n endfacet\nendsolid a\n";

    #[test]
    fn text_is_read_and_its_faults_have_lines() {
        let s = read(ONE.as_bytes()).unwrap();
        assert_eq!((s.triangles.len(), s.form), (1, "text STL"));
        let bad = ONE.replace("1 0 0", "1 zero 0");
        assert!(matches!(read(bad.as_bytes()), Err(IntakeError::Text { line: 5, .. })));
        let short = ONE.replace(" vertex 0 1 0\n", "");
        assert!(matches!(read(short.as_bytes()), Err(IntakeError::Text { line: 7, .. })));
        assert!(matches!(read(&ONE.as_bytes()[..60]), Err(IntakeError::Text { .. })));
        assert_eq!(read(b"solid x\nendsolid x\n").unwrap().triangles.len(), 0);
    }

    #[test]
    fn binary_is_known_by_its_length_even_if_it_begins_with_solid() {
        let mut b = b"solid made by someone".to_vec();
        b.resize(80, b' ');
        b.extend(1u32.to_le_bytes());
        for x in [0f32, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0] {
            b.extend(x.to_le_bytes());
        }
        b.extend([0, 0]);
        assert_eq!(read(&b).unwrap().form, "binary STL");
        b[80] = 2;
        assert_eq!(read(&b), Err(IntakeError::Length { said: 2, found: 1 }));
        assert_eq!(read(b""), Err(IntakeError::Empty));
        assert_eq!(read(b"hello there"), Err(IntakeError::NotStl));
    }
}
