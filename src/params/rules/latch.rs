//! Ranges of what is estimated of the latch, and what decides where a limit lies within one.
//!
//! A spring may bend to 0.70 of where it stays bent. Whether it does is seen on a sample: if a strip springs back whole from
//! snap/0.70, its modulus, its yield and its thickness need not be known.

use super::{Limits, Range};
use crate::params::dims::{Dims, Estimate, LOCKED, LatchDims, Off, SPRING};
use crate::params::numbers::Numbers;
use crate::params::table::Key as K;

fn range(
    d: &Dims,
    of: fn(&LatchDims) -> Estimate,
    decides: fn(&Numbers, &Dims, Limits) -> String,
) -> Option<Range> {
    d.clasp.as_ref().map(|c| of(&c.latch)).map(|e| Range { low: e.low, high: e.high, decides })
}

pub(super) fn tongue_stress(d: &Dims) -> Option<Range> {
    range(
        d,
        |l| l.tongue_share,
        |v, d, _| {
            let Some(l) = d.clasp.as_ref().map(|c| &c.latch) else { return String::new() };
            let (clamped, aside) = (v[K::TongueLength], v[K::TongueSnap] / SPRING);
            yields(l.tongue_share, l.tongue_stress)
                + &format!(
                    "a strip of that stock clamped {clamped:.2} mm from its end springs back whole from {aside:.3} mm"
                )
        },
    )
}

pub(super) fn catch_stress(d: &Dims) -> Option<Range> {
    range(
        d,
        |l| l.catch_share,
        |v, d, _| {
            let Some(l) = d.clasp.as_ref().map(|c| &c.latch) else { return String::new() };
            let (apart, aside) = (v[K::CatchBar], v[K::CatchSnap] / SPRING);
            yields(l.catch_share, l.catch_stress)
                + &format!(
                    "that wire on supports {apart:.2} mm apart springs back whole when its middle is pushed {aside:.3} mm"
                )
        },
    )
}

/// Which yield decides a stress, ready for another way to find out.
fn yields(share: Estimate, stress: Estimate) -> String {
    format!(
        "{:.2} to {:.2} of its yield by estimate, at most {SPRING:.2}: it holds if the supplier's sheet gives a yield of at least \
         {:.0} MPa (put it into the bench file), not under {:.0}; or if a sample shows it: ",
        share.low,
        share.high,
        (stress.high / SPRING).ceil(),
        (stress.low / SPRING).floor(),
    )
}

pub(super) fn tongue_opens(d: &Dims) -> Option<Range> {
    range(d, |l| l.open_force, |v, d, limits| measured(v, d, limits, |l| l.open_force, "opens"))
}

pub(super) fn tongue_closes(d: &Dims) -> Option<Range> {
    range(d, |l| l.close_force, |v, d, limits| measured(v, d, limits, |l| l.close_force, "closes"))
}

/// A force is measured.
fn measured(v: &Numbers, d: &Dims, l: Limits, of: fn(&LatchDims) -> Estimate, does: &str) -> String {
    let Some(e) = d.clasp.as_ref().map(|c| of(&c.latch)) else { return String::new() };
    let most = if e.high < LOCKED { format!("{:.1} N", e.high) } else { "locked".into() };
    let asked = match (l.least, l.most) {
        (Some(a), Some(b)) => format!("{a:.1} to {b:.1} N"),
        (Some(a), None) => format!("at least {a:.1} N"),
        (None, Some(b)) => format!("at most {b:.1} N"),
        (None, None) => String::new(),
    };
    let mu = v[K::TongueFriction];
    let (smooth, rough) = ((mu - Off::FRICTION).max(0.0), mu + Off::FRICTION);
    format!(
        "{:.1} N to {most} by estimate, friction {smooth:.2} to {rough:.2}: the spring balance decides on the finished tongue, which \
         {does} with {asked}",
        e.low
    )
}
