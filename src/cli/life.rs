//! `life` and `passport`: wear, strength and what a later measurement tells.

use super::Ended;
use super::args::{Color, Format, LifeArgs, PassportArgs};
use super::make::{json, read_design};
use crate::life::{self, sheet};
use crate::walls::Judgement;

/// Runs `life`.
pub(super) fn life(a: &LifeArgs, color: Color) -> Ended {
    let design = match read_design(&a.file, a.bench.as_deref(), a.format == Format::Json, color) {
        Ok(d) => d,
        Err(e) => return e,
    };
    let l = life::life(&design);
    let code = u8::from(l.strength.tests.iter().any(|t| t.verdict != Judgement::Pass));
    let stdout = match a.format {
        Format::Json => json(&l),
        Format::Text => sheet::life(design.name(), &l),
    };
    Ended { code, stdout, stderr: String::new() }
}

/// Runs `passport`.
pub(super) fn passport(a: &PassportArgs, color: Color) -> Ended {
    let design = match read_design(&a.file, a.bench.as_deref(), a.format == Format::Json, color) {
        Ok(d) => d,
        Err(e) => return e,
    };
    let mut p = life::passport::passport(&design);
    if let (Some(delivered), Some(now)) = (a.delivered, a.now) {
        p = p.measured(delivered, now);
    }
    let stdout = match a.format {
        Format::Json => json(&p),
        Format::Text => sheet::passport(design.name(), &p),
    };
    Ended { code: 0, stdout, stderr: String::new() }
}
