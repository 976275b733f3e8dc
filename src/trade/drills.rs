//! Twist drills: metric sizes and number sizes.

use crate::units::Mm;

/// Number drills 60 to 80, inches: 66 to 80 from stored public code tables of number drills; 60 to 65 from memory.
pub const NUMBER_DRILLS: [(u32, f64); 21] = [
    (80, 0.0135),
    (79, 0.0145),
    (78, 0.0160),
    (77, 0.0180),
    (76, 0.0200),
    (75, 0.0210),
    (74, 0.0225),
    (73, 0.0240),
    (72, 0.0250),
    (71, 0.0260),
    (70, 0.0280),
    (69, 0.0292),
    (68, 0.0310),
    (67, 0.0320),
    (66, 0.0330),
    (65, 0.0350),
    (64, 0.0360),
    (63, 0.0370),
    (62, 0.0380),
    (61, 0.0390),
    (60, 0.0400),
];

/// Diameter of a number drill.
#[must_use]
pub fn number_drill(n: u32) -> Option<Mm> {
    NUMBER_DRILLS.iter().find(|d| d.0 == n).map(|d| Mm(d.1 * 25.4))
}

/// The number drill nearest to a diameter.
#[must_use]
pub fn nearest_number(d: Mm) -> (u32, Mm) {
    let off = |x: &(u32, f64)| (x.1 * 25.4 - d.get()).abs();
    let best = NUMBER_DRILLS.iter().min_by(|a, b| off(a).total_cmp(&off(b)));
    best.map_or((80, Mm(0.3429)), |b| (b.0, Mm(b.1 * 25.4)))
}

/// Metric sizes, mm, rising: 0.2 to 0.98 in steps of .00, .02, .05, .08, then 1.0 to 2.95 in steps of 0.05 (BS 328, as
/// listed in Wikipedia, Drill bit sizes).
#[must_use]
pub fn metric_drills() -> Vec<Mm> {
    let mut out = Vec::new();
    for tenth in 2..10_u32 {
        for h in [0, 2, 5, 8_u32] {
            out.push(Mm(f64::from(tenth * 10 + h) / 100.0));
        }
    }
    out.extend((20..60_u32).map(|k| Mm(f64::from(k * 5) / 100.0)));
    out
}

/// The metric drill nearest to a diameter; the smaller one at a tie.
#[must_use]
pub fn nearest_metric(d: Mm) -> Mm {
    let off = |x: &Mm| (x.get() - d.get()).abs();
    metric_drills()
        .into_iter()
        .min_by(|a, b| (off(a) + 1e-9 * a.get()).total_cmp(&(off(b) + 1e-9 * b.get())))
        .unwrap_or(d)
}
