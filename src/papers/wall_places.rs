//! The thinnest places of a part one by one, and how much of its surface lies over how much metal.

use crate::papers::mesh_report::ThinPlace;
use crate::solid::Solid;
use crate::trade::limits::{Source, State};
use crate::units::Mm;
use crate::walls::map::{self, Bar, Map};
use crate::walls::{DELTA_WEAR, Interval, Judgement, judge};
use serde::Serialize;

/// Longest edge of a sample of a wall map, as a share of the part's size. Our choice.
const SAMPLE: f64 = 0.03;

/// How much metal lies under the surface of a part.
#[must_use]
pub fn map_of(solid: &Solid) -> Option<Map> {
    let (mut lo, mut hi) = ([f64::INFINITY; 3], [f64::NEG_INFINITY; 3]);
    for p in &solid.vertices {
        for k in 0..3 {
            (lo[k], hi[k]) = (lo[k].min(p[k]), hi[k].max(p[k]));
        }
    }
    let size = (0..3).map(|k| hi[k] - lo[k]).fold(0.0, f64::max);
    map::of_solid(solid, DELTA_WEAR, Mm(SAMPLE * size))
}

/// A thin place with what the bench wants to know of it.
#[derive(Clone, Debug, Serialize)]
pub struct WallPlace {
    /// The place.
    #[serde(flatten)]
    pub place: ThinPlace,
    /// The two faces in bench words.
    pub words: [String; 2],
    /// Class of the wall and its limit; absent where the table of limits has no class for it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit: Option<PlaceLimit>,
    /// How far the thin metal reaches.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub extent: Option<PlaceExtent>,
    /// Parameters that move its faces.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub change: Vec<&'static str>,
}

/// The class of a wall.
#[derive(Clone, Debug, Serialize)]
pub struct PlaceLimit {
    /// In bench words.
    pub class: &'static str,
    /// Least thickness.
    pub least_mm: f64,
    /// State of the metal it speaks of.
    pub state: State,
    /// Where it comes from.
    pub source: Source,
    /// The place against it; a note, since limits bind at the named wear points.
    pub verdict: Judgement,
}

/// How far a thin place reaches over the surface.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct PlaceExtent {
    /// `sampled`: at points of the surface, not proved between them.
    pub how: &'static str,
    /// Thinner than this: the limit where the place is below it, else a tenth more than the place itself.
    pub below_mm: f64,
    /// Area on the face with more of it.
    pub area_mm2: f64,
    /// Greatest length across.
    pub length_mm: f64,
    /// Samples in it; with none the place is smaller than what a sample stands for.
    pub samples: usize,
}

impl PlaceLimit {
    /// A place held against a limit.
    #[must_use]
    pub fn of(place: &ThinPlace, class: &'static str, least: Mm, state: State, source: Source) -> Self {
        let interval = Interval { lower: Mm(place.lower_mm), upper: Mm(place.upper_mm) };
        Self { class, least_mm: least.get(), state, source, verdict: judge(&interval, least) }
    }
}

impl PlaceExtent {
    /// The reach of a place on a map, between the faces that `of` tells for each end.
    #[must_use]
    pub fn of(map: &Map, place: &ThinPlace, least: Option<f64>, of: [&dyn Fn(u32) -> bool; 2]) -> Self {
        let below = least.filter(|l| place.value_mm < *l).unwrap_or(1.1 * place.value_mm);
        let e = map.extent(of, place.at.map(nalgebra::Point3::from), Mm(below));
        Self { how: "sampled", below_mm: below, area_mm2: e.area, length_mm: e.length, samples: e.samples }
    }
}

/// The map of a part in numbers.
#[derive(Clone, Debug, Serialize)]
pub struct MapReport {
    /// `sampled`: each value holds at its point of the surface.
    pub how: &'static str,
    /// Largest angle between a chord and the normals at its ends.
    pub delta_deg: f64,
    /// Points, one in each triangle.
    pub samples: usize,
    /// Longest edge of a triangle.
    pub step_mm: f64,
    /// Width of the interval of a value: 99 of 100 are no wider.
    pub interval_mm: f64,
    /// Widest of all.
    pub widest_mm: f64,
    /// Area of surface by the metal under it.
    pub histogram: Vec<Bar>,
    /// Area over thicker metal, or with nothing opposite it within the angle.
    pub rest_mm2: f64,
}

/// Width of a bar, mm, and where the bars end.
const BAR: Mm = Mm(0.05);
const LAST: Mm = Mm(2.0);

impl MapReport {
    /// The numbers of a map.
    #[must_use]
    pub fn of(map: &Map, delta_deg: f64) -> Self {
        let (histogram, rest_mm2) = map.histogram(BAR, LAST);
        let mut widths: Vec<f64> = map.depth.iter().flatten().map(|d| d.interval.width().get()).collect();
        widths.sort_by(f64::total_cmp);
        let usual = widths.get(widths.len() * 99 / 100).copied().unwrap_or(0.0);
        Self {
            how: "sampled",
            delta_deg,
            samples: map.depth.len(),
            step_mm: map.step,
            interval_mm: usual,
            widest_mm: widths.last().copied().unwrap_or(0.0),
            histogram,
            rest_mm2,
        }
    }
}
