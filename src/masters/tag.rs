//! A small slab with raised letters, so that a print can be told from another when the file name is gone.
//!
//! Letters are drawn in squares of 0.5 mm, five by five, 0.5 mm high on a slab of 1 mm: lines far above the 0.3 mm that printers
//! hold. Where two squares of a letter meet in a corner only, the corner is filled on both sides, so that the surface is one closed
//! manifold.

use crate::mesh::TriMesh;
use nalgebra::Point3;
use std::collections::BTreeMap;

/// Side of a square, thickness of the slab, height of the letters, mm.
const SQUARE: f64 = 0.5;
const SLAB: f64 = 1.0;
const RAISED: f64 = 0.5;
/// Longest text.
pub const LONGEST: usize = 16;
/// Small cells to a square: with three, what is filled beside one corner never meets what is filled beside the next.
const FINE: usize = 3;

/// Rows of a letter, five squares each; `None` for what has no letter.
fn letter(c: char) -> Option<[&'static str; 5]> {
    Some(match c.to_ascii_uppercase() {
        '0' => [" ### ", "#   #", "#   #", "#   #", " ### "],
        '1' => ["  #  ", " ##  ", "  #  ", "  #  ", "#####"],
        '2' => ["#### ", "    #", " ### ", "#    ", "#####"],
        '3' => ["#### ", "    #", " ### ", "    #", "#### "],
        '4' => ["#  # ", "#  # ", "#####", "   # ", "   # "],
        '5' => ["#####", "#    ", "#### ", "    #", "#### "],
        '6' => [" ####", "#    ", "#### ", "#   #", " ### "],
        '7' => ["#####", "    #", "   # ", "  #  ", "  #  "],
        '8' => [" ### ", "#   #", " ### ", "#   #", " ### "],
        '9' => [" ### ", "#   #", " ####", "    #", "#### "],
        'A' => [" ### ", "#   #", "#####", "#   #", "#   #"],
        'B' => ["#### ", "#   #", "#### ", "#   #", "#### "],
        'C' => [" ####", "#    ", "#    ", "#    ", " ####"],
        'D' => ["#### ", "#   #", "#   #", "#   #", "#### "],
        'E' => ["#####", "#    ", "#### ", "#    ", "#####"],
        'F' => ["#####", "#    ", "#### ", "#    ", "#    "],
        'G' => [" ####", "#    ", "#  ##", "#   #", " ####"],
        'H' => ["#   #", "#   #", "#####", "#   #", "#   #"],
        'I' => ["#####", "  #  ", "  #  ", "  #  ", "#####"],
        'J' => ["    #", "    #", "    #", "#   #", " ### "],
        'K' => ["#   #", "#  # ", "###  ", "#  # ", "#   #"],
        'L' => ["#    ", "#    ", "#    ", "#    ", "#####"],
        'M' => ["#   #", "## ##", "# # #", "#   #", "#   #"],
        'N' => ["#   #", "##  #", "# # #", "#  ##", "#   #"],
        'O' => ["#####", "#   #", "#   #", "#   #", "#####"],
        'P' => ["#### ", "#   #", "#### ", "#    ", "#    "],
        'Q' => [" ### ", "#   #", "# # #", "#  # ", " ## #"],
        'R' => ["#### ", "#   #", "#### ", "#  # ", "#   #"],
        'S' => [" ####", "#    ", " ### ", "    #", "#### "],
        'T' => ["#####", "  #  ", "  #  ", "  #  ", "  #  "],
        'U' => ["#   #", "#   #", "#   #", "#   #", " ### "],
        'V' => ["#   #", "#   #", "#   #", " # # ", "  #  "],
        'W' => ["#   #", "#   #", "# # #", "## ##", "#   #"],
        'X' => ["#   #", " # # ", "  #  ", " # # ", "#   #"],
        'Y' => ["#   #", " # # ", "  #  ", "  #  ", "  #  "],
        'Z' => ["#####", "   # ", "  #  ", " #   ", "#####"],
        '-' => ["     ", "     ", "#####", "     ", "     "],
        '.' => ["     ", "     ", "     ", "     ", "  #  "],
        ' ' => ["     "; 5],
        _ => return None,
    })
}

/// Why a text makes no tag.
///
/// # Errors
/// In bench words.
pub fn checked(text: &str) -> Result<String, String> {
    let n = text.chars().count();
    if n == 0 || n > LONGEST {
        return Err(format!("a tag has 1 to {LONGEST} characters, not {n}"));
    }
    match text.chars().find(|c| letter(*c).is_none()) {
        Some(c) => Err(format!("a tag takes letters A to Z, digits, space, - and . only, not {c:?}")),
        None => Ok(text.to_ascii_uppercase()),
    }
}

/// Whether each small cell is raised; rows from the lower edge up.
fn cells(text: &str) -> Vec<Vec<bool>> {
    let letters: Vec<[&str; 5]> = text.chars().filter_map(letter).collect();
    let (wide, high) = (letters.len() * 6 + 1, 7);
    let mut square = vec![vec![false; wide]; high];
    for (i, rows) in letters.iter().enumerate() {
        for (r, row) in rows.iter().enumerate() {
            for (k, c) in row.chars().enumerate() {
                square[5 - r][1 + i * 6 + k] = c == '#';
            }
        }
    }
    let mut fine: Vec<Vec<bool>> =
        (0..high * FINE).map(|r| (0..wide * FINE).map(|k| square[r / FINE][k / FINE]).collect()).collect();
    for r in 1..high {
        for k in 1..wide {
            let (a, b) = (square[r - 1][k - 1], square[r - 1][k]);
            let (c, d) = (square[r][k - 1], square[r][k]);
            if a == d && b == c && a != b {
                for (y, x) in [
                    (r * FINE - 1, k * FINE - 1),
                    (r * FINE - 1, k * FINE),
                    (r * FINE, k * FINE - 1),
                    (r * FINE, k * FINE),
                ] {
                    fine[y][x] = true;
                }
            }
        }
    }
    fine
}

/// The closed mesh of a tag, lower left corner at the origin, standing on z = 0. Coordinates are in single precision.
#[must_use]
pub fn tag(text: &str) -> TriMesh {
    let cells = cells(text);
    let (high, wide) = (cells.len(), cells.first().map_or(0, Vec::len));
    let step = SQUARE / 3.0;
    let mut mesh = TriMesh::default();
    let mut known: BTreeMap<(usize, usize, u8), u32> = BTreeMap::new();
    let heights = [0.0, SLAB, SLAB + RAISED];
    #[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss)]
    let mut vertex = |mesh: &mut TriMesh, x: usize, y: usize, level: u8| {
        *known.entry((x, y, level)).or_insert_with(|| {
            let p =
                [x as f64 * step, y as f64 * step, heights[usize::from(level)]].map(|c| f64::from(c as f32));
            mesh.positions.push(Point3::from(p));
            mesh.positions.len() as u32 - 1
        })
    };
    let mut quad = |mesh: &mut TriMesh, corners: [(usize, usize, u8); 4]| {
        let [a, b, c, d] = corners.map(|(x, y, l)| vertex(mesh, x, y, l));
        mesh.triangles.extend([[a, b, c], [a, c, d]]);
        mesh.face.extend([0, 0]);
    };
    // 0 outside, 1 slab, 2 letter.
    let level = |y: Option<usize>, x: Option<usize>| -> u8 {
        match (y, x) {
            (Some(y), Some(x)) => cells.get(y).and_then(|r| r.get(x)).map_or(0, |c| 1 + u8::from(*c)),
            _ => 0,
        }
    };
    for y in 0..high {
        for x in 0..wide {
            let top = level(Some(y), Some(x));
            quad(&mut mesh, [(x, y, top), (x + 1, y, top), (x + 1, y + 1, top), (x, y + 1, top)]);
            quad(&mut mesh, [(x, y, 0), (x, y + 1, 0), (x + 1, y + 1, 0), (x + 1, y, 0)]);
            let beside = [
                (level(y.checked_sub(1), Some(x)), (x, y), (x + 1, y)),
                (level(Some(y), Some(x + 1)), (x + 1, y), (x + 1, y + 1)),
                (level(Some(y + 1), Some(x)), (x + 1, y + 1), (x, y + 1)),
                (level(Some(y), x.checked_sub(1)), (x, y + 1), (x, y)),
            ];
            for (low, a, b) in beside {
                for l in low..top {
                    quad(&mut mesh, [(a.0, a.1, l), (b.0, b.1, l), (b.0, b.1, l + 1), (a.0, a.1, l + 1)]);
                }
            }
        }
    }
    mesh
}

/// Size of a tag, mm.
#[must_use]
#[allow(clippy::cast_precision_loss)]
pub fn size(text: &str) -> [f64; 2] {
    [(text.chars().count() * 6 + 1) as f64 * SQUARE, 7.0 * SQUARE]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::masters::pattern::volume;

    #[test]
    fn every_letter_is_a_closed_manifold_of_its_squares() {
        for text in ["0123456789", "ABCDEFGHIJKLM", "NOPQRSTUVWXYZ-."] {
            let m = tag(text);
            let mut uses: BTreeMap<(u32, u32), i32> = BTreeMap::new();
            for t in &m.triangles {
                for k in 0..3 {
                    *uses.entry((t[k], t[(k + 1) % 3])).or_default() += 1;
                }
            }
            // Each edge once in each direction: closed, oriented, no edge with four faces.
            assert!(uses.iter().all(|(&(a, b), n)| *n == 1 && uses.get(&(b, a)) == Some(&1)), "{text}");
            let raised = cells(text).iter().flatten().filter(|c| **c).count();
            let [w, h] = size(text);
            let cell = SQUARE * SQUARE / 9.0;
            #[allow(clippy::cast_precision_loss)]
            let wanted = w * h * SLAB + raised as f64 * cell * RAISED;
            assert!((volume(&m) - wanted).abs() < 1e-5 * wanted, "{text}: {} {wanted}", volume(&m));
        }
    }

    #[test]
    fn every_process_holds_lines_as_fine_as_the_letters() {
        for p in crate::trade::processes::PROCESSES {
            assert!(SQUARE.min(RAISED) >= p.raised.value && SLAB >= p.wall.value, "{}", p.name);
        }
    }

    #[test]
    fn what_has_no_letter_is_told() {
        assert_eq!(checked("a-7.b"), Ok("A-7.B".to_owned()));
        assert!(checked("ü").is_err_and(|e| e.contains("A to Z")));
        assert!(checked("").is_err() && checked(&"A".repeat(17)).is_err());
    }
}
