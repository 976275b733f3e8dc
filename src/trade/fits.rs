//! Fits: standard tolerances of small diameters, and the bench clearances beside them.

/// Standard tolerances IT5 to IT12 of ISO 286 for diameters up to 3 mm, µm (stored public code tables of ISO 286).
pub const IT_TO_3: [(u32, f64); 8] =
    [(5, 4.0), (6, 6.0), (7, 10.0), (8, 14.0), (9, 25.0), (10, 40.0), (11, 60.0), (12, 100.0)];

/// The same for 3 to 6 mm, IT5 to IT9.
pub const IT_3_TO_6: [(u32, f64); 5] = [(5, 5.0), (6, 8.0), (7, 12.0), (8, 18.0), (9, 30.0)];

/// Standard tolerance in µm for a diameter in mm up to 6; `None` outside the tables.
#[must_use]
pub fn standard_tolerance(diameter: f64, grade: u32) -> Option<f64> {
    let table: &[(u32, f64)] = if diameter <= 0.0 || diameter > 6.0 {
        return None;
    } else if diameter <= 3.0 {
        &IT_TO_3
    } else {
        &IT_3_TO_6
    };
    table.iter().find(|r| r.0 == grade).map(|r| r.1)
}

/// Least and largest clearance of H7/g6 up to 3 mm, µm: a drilled and reamed fit, tighter than any hinge of a bracelet.
#[must_use]
pub fn h7_g6_to_3() -> (f64, f64) {
    // H7 is 0 to +IT7, g6 is −2 to −2 − IT6.
    (2.0, 10.0 + 2.0 + 6.0)
}

/// Bore over pin at the bench, mm, least and most (common practice, no published source).
pub const PIN_IN_BORE: (f64, f64) = (0.03, 0.08);
/// Tongue in its slot, mm a side (common practice, no published source).
pub const TONGUE_IN_SLOT: (f64, f64) = (0.05, 0.10);
