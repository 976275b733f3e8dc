//! Where everything stands on the sheet. Scales and places come from the measured size of the drawn views, so that
//! nothing overlaps and nothing leaves the frame.

use super::ink::{Anchor, At, Drawing, Pen, Rect};
use super::tables;
use super::view::View;
use super::views::{Subject, Views};
use super::{Page, Title};

/// Paper, landscape.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 297 x 210 mm, ISO 216.
    #[default]
    A4,
    /// 11 x 8.5 inches, ANSI/ASME Y14.1.
    Letter,
}

impl Paper {
    /// Width and height, mm.
    #[must_use]
    pub const fn size(self) -> At {
        match self {
            Self::A4 => [297.0, 210.0],
            Self::Letter => [279.4, 215.9],
        }
    }
    /// Name in the title block.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::Letter => "Letter",
        }
    }
    /// The frame: 20 mm for the binding edge, 10 mm elsewhere (ISO 5457).
    #[must_use]
    pub const fn frame(self) -> Rect {
        let [w, h] = self.size();
        Rect::new([20.0, 10.0], [w - 10.0, h - 10.0])
    }
}

/// Enlargements of ISO 5455 that a sheet of this size can need.
pub(super) const SCALES: [f64; 6] = [50.0, 20.0, 10.0, 5.0, 2.0, 1.0];
/// Width of the column of details and tables.
const COLUMN: f64 = 112.0;
/// Height of the ruler with its numbers.
const RULER: f64 = 8.6;
/// Room kept between two views and along the frame.
pub(super) const APART: f64 = 1.2;

/// A view with the room it takes around its origin.
struct Sized<'a> {
    view: &'a View,
    room: Rect,
}

fn sized(view: &View, scale: f64) -> Sized<'_> {
    Sized { view, room: view.bounds(scale).unwrap_or(Rect::new([0.0; 2], [0.0; 2])) }
}

/// An empty sheet with its frame.
pub(super) fn framed(title: String, paper: Paper) -> Drawing {
    let mut d = Drawing { size: paper.size(), title, ..Drawing::default() };
    d.rect(Pen::Frame, paper.frame());
    d
}

/// Draws the sheet.
pub(super) fn sheet(
    subject: &Subject,
    views: &Views,
    about: (&Title, &Page),
    paper: Paper,
) -> Option<Drawing> {
    let frame = paper.frame();
    let mut d = framed(format!("bench sheet: {}, {}", subject.design.name(), about.1.part), paper);
    let split = frame.hi[0] - COLUMN;
    d.line(Pen::Thin, [split, frame.lo[1]], [split, frame.hi[1]]);
    let area = Rect::new(frame.lo, [split, frame.hi[1]]);
    let v = views;
    let rows = [[&v.top, &v.along], [&v.side, &v.end], [&v.under, &v.across]].map(|r| r.map(Some));
    let scale = SCALES.into_iter().find(|s| main_views(&mut d, &rows, area, *s))?;
    let low = tables::draw(&mut d, subject, about, paper, scale, Rect::new([split, frame.lo[1]], frame.hi));
    let low = true_size(&mut d, &views.plain, Rect::new([split, low], frame.hi));
    d.line(Pen::Thin, [split, low], [frame.hi[0], low]);
    details(&mut d, views, Rect::new([split, low], frame.hi), scale);
    Some(d)
}

/// Views in two columns, each column and row about its common origin; `false`, with nothing drawn, where there is no room at
/// this scale. Of each row only the second's views are projections of each other.
pub(super) fn main_views(d: &mut Drawing, rows: &[[Option<&View>; 2]], area: Rect, scale: f64) -> bool {
    let rows: Vec<[Option<Sized>; 2]> = rows.iter().map(|r| r.map(|v| v.map(|v| sized(v, scale)))).collect();
    let column =
        |k: usize| rows.iter().filter_map(|r| r[k].as_ref()).map(|s| s.room).reduce(|a, b| a.with(&b));
    let (Some(a), Some(b)) = (column(0), column(1)) else { return false };
    let shared = |r: &[Option<Sized>; 2]| r.iter().flatten().map(|s| s.room).reduce(|a, b| a.with(&b));
    let heights: Vec<f64> = rows
        .iter()
        .enumerate()
        .map(|(i, r)| {
            let each = r.iter().flatten().map(|s| s.room.height()).fold(0.0, f64::max);
            if i == 1 { shared(r).map_or(0.0, |s| s.height()) } else { each }
        })
        .collect();
    #[allow(clippy::cast_precision_loss)]
    let gaps = rows.len() as f64 + 1.0;
    let free = [
        area.width() - a.width() - b.width() - 3.0 * APART,
        area.height() - heights.iter().sum::<f64>() - gaps * APART,
    ];
    if free[0] < 0.0 || free[1] < 0.0 {
        return false;
    }
    let gap = [APART + free[0] / 3.0, APART + free[1] / gaps];
    let x = [area.lo[0] + gap[0] - a.lo[0], area.hi[0] - gap[0] - b.hi[0]];
    let mut top = area.hi[1];
    for (i, (row, height)) in rows.iter().zip(heights).enumerate() {
        let middle = top - gap[1] - height / 2.0;
        let shared = shared(row);
        for (sized, x) in row.iter().zip(x) {
            let Some(sized) = sized else { continue };
            let room = shared.filter(|_| i == 1).unwrap_or(sized.room);
            sized.view.draw(d, [x, middle - f64::midpoint(room.lo[1], room.hi[1])], scale);
        }
        top = middle - height / 2.0;
    }
    true
}

/// A part in true size over a ruler of 100 mm to check the print with; returns the upper end.
pub(super) fn true_size(d: &mut Drawing, plain: &[View], area: Rect) -> f64 {
    let x0 = f64::midpoint(area.lo[0], area.hi[0]) - 50.0;
    ruler(d, [x0, area.lo[1] + 4.0]);
    let base = area.lo[1] + RULER + APART;
    let (mut x, mut high) = (x0, 0.0_f64);
    for view in plain {
        let Some(o) = view.outline() else { continue };
        view.draw(d, [x - o.lo[0], base - o.lo[1]], 1.0);
        x += o.width() + 3.0;
        high = high.max(o.height());
    }
    d.text([x, base], 2.5, Anchor::Start, "1:1");
    base + high.max(2.5) + APART
}

/// 100 mm with a stroke each millimetre; the outermost strokes are 100 mm apart.
fn ruler(d: &mut Drawing, at: At) {
    const LONG: [f64; 3] = [4.0, 3.0, 1.8];
    for i in 0..=100_u32 {
        let x = at[0] + f64::from(i);
        let long = LONG[if i % 10 == 0 {
            0
        } else if i % 5 == 0 {
            1
        } else {
            2
        }];
        d.line(Pen::Thin, [x, at[1]], [x, at[1] + long]);
        if i % 50 == 0 {
            d.text([x, at[1] - 3.2], 1.8, Anchor::Middle, &i.to_string());
        }
    }
    d.line(Pen::Thin, at, [at[0] + 100.0, at[1]]);
    d.text([at[0] + 25.0, at[1] - 3.2], 1.8, Anchor::Middle, "check: 100 mm");
}

/// A detail, the room it takes, its scale.
type Enlarged = (View, Rect, f64);

/// The enlarged details side by side, each at the largest scale that has room.
fn details(d: &mut Drawing, v: &Views, room: Rect, main: f64) {
    let room = Rect::new([room.lo[0] + APART, room.lo[1] + APART], [room.hi[0] - APART, room.hi[1] - APART]);
    let larger = || SCALES.into_iter().filter(move |s| *s >= main);
    let size = |view: &View, s: f64| {
        let mut titled = view.clone();
        titled.title = format!("{} ({s}:1)", view.title);
        let bounds = titled.bounds(s);
        (titled, bounds)
    };
    let shown: Vec<&View> = [&v.joint, &v.seat].into_iter().filter(|v| v.window.is_some()).collect();
    // The pair of scales that shows most: the smaller of both counts first.
    let mut best: Option<(f64, f64, Vec<Enlarged>)> = None;
    for s in larger() {
        for t in larger() {
            let sizes: Option<Vec<Enlarged>> = shown
                .iter()
                .zip([s, t])
                .map(|(v, s)| {
                    let (view, bounds) = size(v, s);
                    bounds.map(|b| (view, b, s))
                })
                .collect();
            let Some(sizes) = sizes else { continue };
            let wide: f64 = sizes.iter().map(|x| x.1.width()).sum::<f64>() + APART * 2.0;
            if wide > room.width() || sizes.iter().any(|x| x.1.height() > room.height()) {
                continue;
            }
            let worth = (s.min(t), s.max(t));
            if best.as_ref().is_none_or(|b| worth > (b.0, b.1)) {
                best = Some((worth.0, worth.1, sizes));
            }
        }
    }
    let Some((_, _, sizes)) = best else { return };
    #[allow(clippy::cast_precision_loss)]
    let gap = (room.width() - sizes.iter().map(|x| x.1.width()).sum::<f64>()) / (sizes.len() as f64 + 1.0);
    let mut x = room.lo[0] + gap;
    for (view, b, s) in sizes {
        let y = f64::midpoint(room.lo[1], room.hi[1]) - f64::midpoint(b.lo[1], b.hi[1]);
        view.draw(d, [x - b.lo[0], y], s);
        x += b.width() + gap;
    }
}
