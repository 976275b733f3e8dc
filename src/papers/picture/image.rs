//! Pixels in memory, and the PNG file they become.

use super::PictureError;

/// A picture, 8 bit sRGB.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Image {
    width: usize,
    height: usize,
    rgb: Vec<u8>,
}

impl Image {
    /// A picture of one colour.
    #[must_use]
    pub fn plain(width: usize, height: usize, rgb: [u8; 3]) -> Self {
        Self { width, height, rgb: rgb.repeat(width.saturating_mul(height)) }
    }
    /// `rgb` holds `width * height` pixels.
    pub(super) fn from_rgb(width: usize, height: usize, rgb: Vec<u8>) -> Self {
        debug_assert_eq!(rgb.len(), width * height * 3);
        Self { width, height, rgb }
    }
    /// Pixels across.
    #[must_use]
    pub fn width(&self) -> usize {
        self.width
    }
    /// Pixels down.
    #[must_use]
    pub fn height(&self) -> usize {
        self.height
    }
    /// Red, green and blue of all pixels, row by row from the top left.
    #[must_use]
    pub fn rgb(&self) -> &[u8] {
        &self.rgb
    }
    /// Colour of a pixel; `None` outside.
    #[must_use]
    pub fn pixel(&self, x: usize, y: usize) -> Option<[u8; 3]> {
        let i = (y * self.width + x) * 3;
        let inside = x < self.width && y < self.height;
        inside.then(|| self.rgb.get(i..i + 3)?.try_into().ok()).flatten()
    }
    /// Sets one pixel; one outside is left out.
    pub(super) fn dot(&mut self, x: usize, y: usize, rgb: [u8; 3]) {
        let i = (y * self.width + x) * 3;
        if x < self.width
            && y < self.height
            && let Some(to) = self.rgb.get_mut(i..i + 3)
        {
            to.copy_from_slice(&rgb);
        }
    }
    /// Lays another picture on this one with its top left corner at `x`, `y`; what hangs over is cut off.
    pub fn lay(&mut self, other: &Self, x: usize, y: usize) {
        let across = other.width.min(self.width.saturating_sub(x));
        for row in 0..other.height.min(self.height.saturating_sub(y)) {
            let (to, from) = (((y + row) * self.width + x) * 3, row * other.width * 3);
            if let (Some(to), Some(from)) =
                (self.rgb.get_mut(to..to + across * 3), other.rgb.get(from..from + across * 3))
            {
                to.copy_from_slice(from);
            }
        }
    }
    /// The picture as a PNG file (W3C PNG, third edition): 8 bit RGB, marked sRGB, no time and no text, so that equal
    /// pictures are equal files.
    ///
    /// # Errors
    /// [`PictureError::Png`] if the encoder refuses, such as a picture without pixels.
    pub fn png(&self) -> Result<Vec<u8>, PictureError> {
        let fail = |e: png::EncodingError| PictureError::Png(e.to_string());
        let size = |v: usize| u32::try_from(v).map_err(|e| PictureError::Png(e.to_string()));
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, size(self.width)?, size(self.height)?);
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.set_source_srgb(png::SrgbRenderingIntent::Perceptual);
        encoder.set_compression(png::Compression::Balanced);
        encoder.set_filter(png::Filter::Adaptive);
        let mut writer = encoder.write_header().map_err(fail)?;
        writer.write_image_data(&self.rgb).map_err(fail)?;
        writer.finish().map_err(fail)?;
        Ok(bytes)
    }
}
