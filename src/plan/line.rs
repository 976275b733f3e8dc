//! How many stones, how long: the line flat and round the wrist, one stone more or less, what tolerances add up to.

use crate::params::{Design, Key};
use serde::Serialize;
use std::f64::consts::PI;

/// Gaps between settings that are made, mm (0.08 binds below it, 0.20 shows the joint above it; common practice).
pub const GAPS: (f64, f64) = (0.08, 0.20);
/// Ease between wrist and bracelet that is worn, mm (common practice).
pub const EASE: (f64, f64) = (10.0, 18.0);

/// The line.
#[derive(Clone, Debug, Serialize)]
pub struct Line {
    /// Stones in all, the clasp's included, or the places of them that a bought clasp takes.
    pub stones: usize,
    /// From one stone to the next.
    pub pitch_mm: f64,
    /// Gap between two settings.
    pub gap_mm: f64,
    /// Length laid flat and closed: stones x pitch.
    pub length_mm: f64,
    /// Length inside the closed bracelet: n (p - 2 z tan(pi/n)), z the height of the joint over the skin.
    pub inner_length_mm: f64,
    /// Length along the axes the joints turn on, the same flat and round the wrist: n p.
    pub pivot_length_mm: f64,
    /// Girth of the wrist.
    pub wrist_mm: f64,
    /// Inner length less wrist.
    pub ease_mm: f64,
    /// Stones on the clasp.
    pub clasp_stones: usize,
    /// Length of the closed clasp.
    pub clasp_mm: f64,
    /// Links apart from the clasp.
    pub links: usize,
    /// Joints that link to link and link to clasp make.
    pub joints: usize,
    /// Turn of each joint on the wrist.
    pub turn_deg: f64,
    /// One stone fewer, as designed, one more.
    pub alternatives: Vec<Alternative>,
    /// What the length may come out at.
    pub spread: Spread,
}

/// A line of another count.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Alternative {
    /// Stones in all.
    pub stones: usize,
    /// Flat length at the designed gap.
    pub length_mm: f64,
    /// Inner length at the designed gap.
    pub inner_length_mm: f64,
    /// Its ease.
    pub ease_mm: f64,
    /// The gap that keeps the designed length.
    pub gap_for_length_mm: f64,
    /// Whether that gap is one that is made.
    pub gap_can_be_made: bool,
    /// Carat more or less.
    pub carats: f64,
}

/// What the length may come out at, flat, pulled straight.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Spread {
    /// A link's pitch comes out within this.
    pub link_mm: f64,
    /// The clasp comes out within this.
    pub clasp_mm: f64,
    /// All at their limits in the same direction.
    pub worst_mm: f64,
    /// Root of the sum of squares: 99.7 % where the limits are three standard deviations.
    pub three_sigma_mm: f64,
    /// The same where a link is only "within" its limit, every value alike: larger by the root of three.
    pub uniform_mm: f64,
    /// What the play of the joints adds when the line is pulled.
    pub play_mm: f64,
    /// By how much a line that starts stiff grows until it hangs free: half of that play (proposal).
    pub relaxes_mm: f64,
}

/// Inner length of a closed line.
#[must_use]
pub fn inner_length(stones: f64, pitch: f64, joint_height: f64) -> f64 {
    stones * (pitch - 2.0 * joint_height * libm::tan(PI / stones))
}

/// The line of a design.
#[must_use]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
pub fn line(design: &Design) -> Line {
    let d = design.dims();
    let (n, on_clasp) = (design.get(Key::Count), design.get(Key::ClaspCount));
    let (pitch, width, z) = (d.pitch.get(), design.get(Key::Width), d.joint_height.get());
    let wrist = design.get(Key::Wrist);
    let links = (n - on_clasp).max(0.0);
    let joints = links + 1.0;
    let play = match (&d.wire, &d.hinge) {
        (Some(_), _) => 2.0 * design.get(Key::EndPlay),
        (_, Some(h)) => h.pin_play.get(),
        _ => 0.0,
    } * joints;
    let alternatives = [-1.0, 0.0, 1.0]
        .into_iter()
        .map(|more| {
            let count = n + more;
            let gap = n * pitch / count - width;
            let inner = inner_length(count, pitch, z);
            Alternative {
                stones: count as usize,
                length_mm: count * pitch,
                inner_length_mm: inner,
                ease_mm: inner - wrist,
                gap_for_length_mm: gap,
                gap_can_be_made: (GAPS.0 - 1e-9..=GAPS.1 + 1e-9).contains(&gap),
                carats: more * design.get(Key::Carat),
            }
        })
        .collect();
    let (tp, tc) = (design.get(Key::TolerancePitch), design.get(Key::ToleranceClasp));
    let sigma = (links * tp * tp + tc * tc).sqrt();
    Line {
        stones: n as usize,
        pitch_mm: pitch,
        gap_mm: design.get(Key::Gap),
        length_mm: d.line_length.get(),
        inner_length_mm: d.inner_length.get(),
        pivot_length_mm: n * pitch,
        wrist_mm: wrist,
        ease_mm: d.ease.get(),
        clasp_stones: on_clasp as usize,
        clasp_mm: on_clasp * pitch,
        links: links as usize,
        joints: joints as usize,
        turn_deg: d.turn_wrist.get(),
        alternatives,
        spread: Spread {
            link_mm: tp,
            clasp_mm: tc,
            worst_mm: links * tp + tc,
            three_sigma_mm: sigma,
            uniform_mm: 3f64.sqrt() * sigma,
            play_mm: play,
            relaxes_mm: play / 2.0,
        },
    }
}

/// A wished length that was tried.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Wish {
    /// The flat length wished for.
    pub length_mm: f64,
    /// Counts and gaps that give it, nearest to the usual gap of 0.10 first.
    pub ways: Vec<(usize, f64)>,
    /// Where there is none: the nearest lengths below and above that can be made, with count and gap.
    pub nearest: Vec<(f64, usize, f64)>,
}

/// Which counts give a flat length exactly, at gaps that are made.
#[must_use]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
pub fn wish(width: f64, length: f64) -> Wish {
    let counts = || 2..=(length / (width + GAPS.0)).ceil().clamp(2.0, 1000.0) as usize + 1;
    let gap = |n: usize| length / n as f64 - width;
    let fits = |n: &usize| (GAPS.0 - 1e-9..=GAPS.1 + 1e-9).contains(&gap(*n));
    let mut ways: Vec<(usize, f64)> = counts().filter(fits).map(|n| (n, gap(n))).collect();
    ways.sort_by(|a, b| (a.1 - 0.10).abs().total_cmp(&(b.1 - 0.10).abs()));
    let mut nearest = Vec::new();
    if ways.is_empty() {
        let ends = counts().flat_map(|n| [GAPS.0, GAPS.1].map(|g| (n as f64 * (width + g), n, g)));
        let mut below: Option<(f64, usize, f64)> = None;
        let mut above: Option<(f64, usize, f64)> = None;
        for e in ends {
            if e.0 <= length && below.is_none_or(|b| e.0 > b.0) {
                below = Some(e);
            }
            if e.0 >= length && above.is_none_or(|a| e.0 < a.0) {
                above = Some(e);
            }
        }
        nearest.extend(below);
        nearest.extend(above);
    }
    Wish { length_mm: length, ways, nearest }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wish_between_two_counts_names_both_neighbours() {
        // Settings of 4.1: ten of them reach 41.8 to 43.0, eleven 45.98 to 47.3; nothing lies between.
        let w = wish(4.1, 44.0);
        assert!(w.ways.is_empty());
        assert!((w.nearest[0].0 - 43.0).abs() < 1e-9 && (w.nearest[1].0 - 45.98).abs() < 1e-9, "{w:?}");
        let w = wish(4.1, 176.4);
        assert_eq!(w.ways[0].0, 42);
        assert!((w.ways[0].1 - 0.10).abs() < 1e-9);
    }
}
