//! The walls of the link by colour, as the page's script takes them.

use super::shape::base64;
use crate::papers::picture::{scale_end, wall_colour};
use crate::walls::map::Map;
use serde::Serialize;

/// Colours of the scale that are sent; between them the page mixes.
const STOPS: u32 = 32;
/// Depth of a triangle that nothing lies opposite to.
const NOTHING: u16 = u16::MAX;

/// The map, each list as base64 of little-endian numbers.
#[derive(Debug, Serialize)]
pub struct WallMap {
    /// Where the scale ends, mm.
    end: f64,
    /// Colours of the scale from 0 to its end, red, green, blue.
    stops: Vec<[u8; 3]>,
    /// Least corner of the box that the places are counted in, and the length that 65535 stands for, mm.
    low: [f64; 3],
    size: f64,
    /// u16, three a vertex.
    positions: String,
    /// u16, or u32 where there are more than 65536 vertices; three a triangle.
    triangles: String,
    /// u16, one a triangle, um; 65535 where nothing lies opposite.
    depth: String,
}

impl WallMap {
    /// Of a map.
    #[must_use]
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    pub fn of(map: &Map) -> Self {
        let (mut low, mut high) = ([f64::INFINITY; 3], [f64::NEG_INFINITY; 3]);
        for p in &map.mesh.positions {
            for k in 0..3 {
                (low[k], high[k]) = (low[k].min(p[k]), high[k].max(p[k]));
            }
        }
        let size = (0..3).map(|k| high[k] - low[k]).fold(1e-9, f64::max);
        let place = |v: f64, k: usize| (((v - low[k]) / size * 65535.0).round() as u16).to_le_bytes();
        let positions = map.mesh.positions.iter().flat_map(|p| [0, 1, 2].map(|k| place(p[k], k))).flatten();
        let wide = map.mesh.positions.len() > 1 << 16;
        let corner =
            |v: &u32| if wide { v.to_le_bytes().to_vec() } else { (*v as u16).to_le_bytes().to_vec() };
        let depth = map.depth.iter().map(|d| {
            d.map_or(NOTHING, |d| (d.value.get() * 1000.0).round().clamp(0.0, f64::from(NOTHING - 1)) as u16)
        });
        Self {
            end: scale_end(map),
            stops: (0..=STOPS).map(|k| wall_colour(f64::from(k) / f64::from(STOPS))).collect(),
            low,
            size,
            positions: base64(&positions.collect::<Vec<u8>>()),
            triangles: base64(&map.mesh.triangles.iter().flatten().flat_map(corner).collect::<Vec<u8>>()),
            depth: base64(&depth.flat_map(u16::to_le_bytes).collect::<Vec<u8>>()),
        }
    }
}
