//! Several views of one scene on one sheet.

use super::{Image, PictureError, Scene, View, render};

/// White of the sheet between the pictures. Our choice.
const SHEET: [u8; 3] = [244, 244, 243];
/// Gap between pictures as a share of the sheet's shorter side. Our choice.
const GAP: f64 = 0.016;

/// One sheet: the first view large on the left, the others small in a column on the right, on `width` x `height` pixels.
///
/// # Errors
/// Those of [`render`]; [`PictureError::Size`] also if the sheet is too small for its views.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
pub fn sheet(
    scene: &Scene,
    views: &[View],
    width: usize,
    height: usize,
    threads: usize,
) -> Result<Image, PictureError> {
    let size = PictureError::Size { width, height };
    let (large, small) = views.split_first().ok_or(PictureError::Empty)?;
    let gap = (GAP * width.min(height) as f64).round() as usize;
    let mut out = Image::plain(width, height, SHEET);
    let down = height.checked_sub(2 * gap).ok_or(size.clone())?;
    let n = small.len();
    if n == 0 {
        let image = render(scene, &large.camera(), width.checked_sub(2 * gap).ok_or(size)?, down, threads)?;
        out.lay(&image, gap, gap);
        return Ok(out);
    }
    let each = (down.checked_sub(gap * (n - 1)).ok_or(size.clone())?) / n;
    // Small pictures a third wider than high, but never more than two fifths of the sheet.
    let column = (each * 4 / 3).min(width * 2 / 5);
    let across = width.checked_sub(3 * gap + column).ok_or(size)?;
    out.lay(&render(scene, &large.camera(), across, down, threads)?, gap, gap);
    for (i, view) in small.iter().enumerate() {
        // The last one ends with the large picture.
        let top = gap + i * (each + gap);
        let tall = if i + 1 == n { height - gap - top } else { each };
        out.lay(&render(scene, &view.camera(), column, tall, threads)?, 2 * gap + across, top);
    }
    Ok(out)
}
