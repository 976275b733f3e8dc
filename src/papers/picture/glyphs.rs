//! Figures for the scale of a picture: five by seven dots each.

use super::Image;

/// Pixels of a dot, and height of a figure.
const DOT: usize = 3;
pub(super) const HIGH: usize = 7 * DOT;

/// Rows from the top, the leftmost dot in the bit of 16.
fn rows(c: char) -> [u8; 7] {
    match c {
        '0' => [14, 17, 19, 21, 25, 17, 14],
        '1' => [4, 12, 4, 4, 4, 4, 14],
        '2' => [14, 17, 1, 2, 4, 8, 31],
        '3' => [31, 2, 4, 2, 1, 17, 14],
        '4' => [2, 6, 10, 18, 31, 2, 2],
        '5' => [31, 16, 30, 1, 1, 17, 14],
        '6' => [6, 8, 16, 30, 17, 17, 14],
        '7' => [31, 1, 2, 4, 8, 8, 8],
        '8' => [14, 17, 17, 14, 17, 17, 14],
        '9' => [14, 17, 17, 15, 1, 2, 12],
        '.' => [0, 0, 0, 0, 0, 12, 12],
        '+' => [0, 4, 4, 31, 4, 4, 0],
        'm' => [0, 0, 26, 21, 21, 21, 21],
        'n' => [0, 0, 22, 25, 17, 17, 17],
        'o' => [0, 0, 14, 17, 17, 17, 14],
        'e' => [0, 0, 14, 17, 31, 16, 14],
        _ => [0; 7],
    }
}

/// Writes figures with their top left corner at `x`, `y`.
pub(super) fn write(image: &mut Image, x: usize, y: usize, text: &str, ink: [u8; 3]) {
    let mut left = x;
    for c in text.chars() {
        for (j, row) in rows(c).into_iter().enumerate() {
            for i in (0..5).filter(|i| row >> (4 - i) & 1 == 1) {
                for d in 0..DOT * DOT {
                    image.dot(left + i * DOT + d % DOT, y + j * DOT + d / DOT, ink);
                }
            }
        }
        left += if c == '.' { 4 * DOT } else { 6 * DOT };
    }
}
