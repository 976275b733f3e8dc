//! Volumes, lengths and stresses of the bench: elementary solids and pins.

use std::f64::consts::PI;

/// Volume of a torus of middle radius R and section radius r: 2 π² R r².
#[must_use]
pub fn torus_volume(middle: f64, section: f64) -> f64 {
    2.0 * PI * PI * middle * section * section
}

/// Surface of the same torus: 4 π² R r.
#[must_use]
pub fn torus_area(middle: f64, section: f64) -> f64 {
    4.0 * PI * PI * middle * section
}

/// Volume of a frustum of a cone: π h (a² + ab + b²)/3.
#[must_use]
pub fn frustum_volume(a: f64, b: f64, height: f64) -> f64 {
    PI * height * (a * a + a * b + b * b) / 3.0
}

/// Volume of a flat ring of inside diameter, width and thickness.
#[must_use]
pub fn band_volume(inside: f64, width: f64, thickness: f64) -> f64 {
    PI * (inside + thickness) * thickness * width
}

/// Section of round wire.
#[must_use]
pub fn wire_section(d: f64) -> f64 {
    PI * d * d / 4.0
}

/// Wire of a closed ring at its middle line: π (inside + wire).
#[must_use]
pub fn ring_wire(inside: f64, wire: f64) -> f64 {
    PI * (inside + wire)
}

/// Shear stress of a pin of diameter d under a force in so many planes: F/(n π d²/4) (Gere and Timoshenko).
#[must_use]
pub fn pin_shear(force: f64, d: f64, planes: f64) -> f64 {
    force / (planes * wire_section(d))
}

/// Bearing stress of a pin in a plate of thickness t: F/(d t) (same source).
#[must_use]
pub fn bearing(force: f64, d: f64, t: f64) -> f64 {
    force / (d * t)
}

/// Coefficient K of wear in the convention V = K F s/H.
#[must_use]
pub fn wear_coefficient(volume: f64, force: f64, path: f64, hardness: f64) -> f64 {
    volume * hardness / (force * path)
}

/// Mandrel for rings of a chain: wire times the aspect ratio.
#[must_use]
pub fn mandrel(wire: f64, aspect: f64) -> f64 {
    wire * aspect
}

/// Usual aspect ratios (inside diameter over wire) of loop-in-loop chain: weave, ratio (mailleartisans.org, article 8975;
/// single from common practice, no published source).
pub const ASPECTS: [(&str, f64); 4] =
    [("single", 12.0), ("double", 16.0), ("double through two", 20.0), ("triple through two", 24.0)];
