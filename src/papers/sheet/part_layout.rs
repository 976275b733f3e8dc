//! The sheet of a part of the clasp: views over a foot with the part in true size, notes and title block.

use super::block;
use super::ink::{Drawing, Pen, Rect};
use super::layout::{Paper, SCALES, framed, main_views, true_size};
use super::part_views::{PartSubject, PartViews};
use super::{Page, Title};
use crate::parts::Route;

/// Width of the title block.
const BLOCK: f64 = 128.0;

/// Draws the sheet.
pub(super) fn sheet(
    s: &PartSubject,
    views: &PartViews,
    (t, page): (&Title, &Page),
    paper: Paper,
) -> Option<Drawing> {
    let frame = paper.frame();
    let mut d = framed(format!("bench sheet: {}, {}", s.design.name(), page.part), paper);
    let split = frame.hi[0] - BLOCK;
    // The foot is as high as its higher half: laid out on a sheet that is thrown away.
    let mut tried = Drawing::default();
    let foot = |d: &mut Drawing, scale: &str| {
        let right = Rect::new([split, frame.lo[1]], frame.hi);
        let low = block::title_block(d, s.design, (t, page), paper, scale, right);
        let low = block::notes(d, &notes(s, t), Rect::new([split, low], frame.hi));
        let left = true_size(d, &views.plain, Rect::new(frame.lo, [split, frame.hi[1]]));
        low.max(left)
    };
    let top = foot(&mut tried, "1:1");
    let area = Rect::new([frame.lo[0], top], frame.hi);
    let rows = [
        [Some(&views.top), views.section.as_ref()],
        [Some(&views.side), Some(&views.end)],
        [Some(&views.under), None],
    ];
    // The view from the skin carries no dimension: it gives way before the scale does.
    let tries = SCALES.into_iter().flat_map(|s| [(s, 3), (s, 2)]);
    let (scale, _) = tries.into_iter().find(|(s, n)| main_views(&mut d, &rows[..*n], area, *s))?;
    foot(&mut d, &format!("{scale}:1"));
    d.line(Pen::Thin, [frame.lo[0], top], [frame.hi[0], top]);
    d.line(Pen::Thin, [split, frame.lo[1]], [split, top]);
    Some(d)
}

fn notes(s: &PartSubject, t: &Title) -> [String; 4] {
    let route = match s.part.route {
        Route::Cast => "cast from its master, finished at the bench",
        Route::Fabricated => "built from sheet, strip and tube",
        Route::Stock => "cut from stock",
    };
    [
        format!(
            "mm, metal as finished; {} a bracelet, {route}. No tolerance given: ISO 2768-f.",
            s.part.count
        ),
        format!("Verdict of the checks: {}. State: {}.", t.verdict, t.state),
        "Burs and drills: guard the eyes. Hinge pins run free before any polish; edges are dressed last."
            .to_owned(),
        format!("Metal: {}, {} g/cm3.", s.design.metal().name, s.design.density().0),
    ]
}
