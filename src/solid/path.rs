//! The middle line of a wire: straight pieces and circular bends, each starting where and as the last one ended.

use super::error::BuildError;
use nalgebra::{Point3, Vector3};
use std::f64::consts::PI;

/// Two directions or places of a path closer than this, in mm or radians, are one: sums of rounded numbers of one part
/// differ by 1e-14, dimensions by 1e-4.
const SAME: f64 = 1e-9;

/// Longest bend in one piece, radians; a longer one is divided evenly, so that no face or edge goes more than half round.
const LONGEST_BEND: f64 = PI * 1.001;

/// A point of the path and the unit direction there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heading {
    /// Where, mm.
    pub at: Point3<f64>,
    /// Which way.
    pub along: Vector3<f64>,
}

/// What lies between two headings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Piece {
    /// Straight, of this length in mm.
    Line(f64),
    /// Part of a circle.
    Bend(Bend),
}

/// Part of a circle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bend {
    /// Centre.
    pub centre: Point3<f64>,
    /// Unit axis about which the heading turns, right-handed.
    pub axis: Vector3<f64>,
    /// Radius of the middle line, mm.
    pub radius: f64,
    /// Angle turned, radians, above 0.
    pub angle: f64,
}

impl Bend {
    /// A vector turned as far as the bend has turned it after an angle.
    #[must_use]
    pub fn turned(&self, v: &Vector3<f64>, angle: f64) -> Vector3<f64> {
        // Rodrigues' formula.
        let (s, c) = libm::sincos(angle);
        v * c + self.axis.cross(v) * s + self.axis * (self.axis.dot(v) * (1.0 - c))
    }
}

impl Piece {
    /// Length of the middle line, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        match self {
            Self::Line(l) => *l,
            Self::Bend(b) => b.radius * b.angle,
        }
    }
}

/// A middle line under way: call after call adds a piece.
#[derive(Clone, Debug)]
pub struct Path {
    /// Name of each piece.
    pub(super) names: Vec<String>,
    /// The pieces.
    pub(super) pieces: Vec<Piece>,
    /// Where each piece starts, and where the last ends.
    pub(super) headings: Vec<Heading>,
    /// Whether the end is the start.
    pub(super) closed: bool,
}

impl Path {
    /// A path that starts at a point in a direction.
    ///
    /// # Errors
    /// A direction without length.
    pub fn start(at: Point3<f64>, along: &Vector3<f64>) -> Result<Self, BuildError> {
        let along = along
            .try_normalize(1e-12)
            .filter(|d| d.iter().chain(at.coords.iter()).all(|c| c.is_finite()))
            .ok_or_else(|| refused("path", "a wire needs a place and a direction to start".into()))?;
        Ok(Self {
            names: Vec::new(),
            pieces: Vec::new(),
            headings: vec![Heading { at, along }],
            closed: false,
        })
    }

    fn end(&self) -> Heading {
        self.headings.last().copied().unwrap_or(Heading { at: Point3::origin(), along: Vector3::z() })
    }

    /// Goes straight on by `length` mm; not at all if it is within rounding of zero.
    ///
    /// # Errors
    /// A length below zero or not a number.
    pub fn line(mut self, name: &str, length: f64) -> Result<Self, BuildError> {
        if length.abs() < SAME {
            return Ok(self);
        }
        if !(length > 0.0 && length.is_finite()) {
            return Err(refused(name, format!("a straight piece of {length} mm is none")));
        }
        let from = self.end();
        self.names.push(name.to_owned());
        self.pieces.push(Piece::Line(length));
        self.headings.push(Heading { at: from.at + from.along * length, ..from });
        Ok(self)
    }

    /// Bends by `angle` radians towards a direction, the middle line at `radius` mm. Of `towards` only the part square to
    /// the wire counts.
    ///
    /// # Errors
    /// No radius, no angle or more than a full turn, or a direction along the wire.
    pub fn bend(
        mut self,
        name: &str,
        towards: &Vector3<f64>,
        radius: f64,
        angle: f64,
    ) -> Result<Self, BuildError> {
        if !(radius > 0.0 && radius.is_finite()) {
            return Err(refused(name, format!("a bend of radius {radius} mm is none")));
        }
        if !(angle > SAME && angle < 2.0 * PI + SAME) {
            return Err(refused(
                name,
                format!("a bend turns by more than nothing and at most 360 degrees, not {angle} radians"),
            ));
        }
        let parts = (angle / LONGEST_BEND).ceil().max(1.0);
        let mut centre = None;
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        for _ in 0..parts as u32 {
            let from = self.end();
            // Later parts bend towards the same centre.
            let to = centre.map_or(*towards, |c: Point3<f64>| c - from.at);
            let n = (to - from.along * to.dot(&from.along))
                .try_normalize(1e-9)
                .ok_or_else(|| refused(name, "a wire cannot bend towards where it goes".into()))?;
            let axis = from.along.cross(&n).normalize();
            let c = *centre.get_or_insert(from.at + n * radius);
            let bend = Bend { centre: c, axis, radius, angle: angle / parts };
            let out = bend.turned(&(-n), bend.angle);
            let along = bend.turned(&from.along, bend.angle).normalize();
            self.names.push(name.to_owned());
            self.pieces.push(Piece::Bend(bend));
            self.headings.push(Heading { at: c + out * radius, along });
        }
        Ok(self)
    }

    /// Declares that the path has come back to its start.
    ///
    /// # Errors
    /// It has not, in place or direction.
    pub fn close(mut self) -> Result<Self, BuildError> {
        let (first, last) = (self.headings[0], self.end());
        let (gap, turn) = ((first.at - last.at).norm(), (first.along - last.along).norm());
        if self.pieces.is_empty() || gap > SAME || turn > SAME {
            let name = self.names.first().map_or("path", String::as_str);
            return Err(refused(
                name,
                format!("the wire does not close: {gap:.1e} mm and {turn:.1e} radians are left"),
            ));
        }
        if let Some(h) = self.headings.last_mut() {
            *h = first;
        }
        self.closed = true;
        Ok(self)
    }

    /// Length of the middle line, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.pieces.iter().map(Piece::length).sum()
    }

    /// Point at a distance along the path, mm.
    pub(super) fn point(&self, mut s: f64) -> Point3<f64> {
        for (p, h) in self.pieces.iter().zip(&self.headings) {
            let l = p.length();
            if s <= l {
                return match p {
                    Piece::Line(_) => h.at + h.along * s,
                    Piece::Bend(b) => b.centre + b.turned(&(h.at - b.centre), s / b.radius),
                };
            }
            s -= l;
        }
        self.end().at
    }

    /// Whether a wire of this radius keeps clear of itself, and if not the pieces that meet.
    ///
    /// Where two places are less than `pi r` apart along a path bent no more sharply than `r`, Schur's comparison theorem
    /// keeps the wire's sections apart; places farther along than that must be more than a wire's thickness apart in
    /// space. Distances between parts of the path are bounded by halving: a part lies within half its length of its middle.
    pub(super) fn clear(&self, r: f64) -> Result<(), [usize; 2]> {
        // Parts this short, mm, decide: nearer to touching than this is touching.
        const SHORTEST: f64 = 1e-5;
        const BUDGET: usize = 400_000;
        let total = self.length();
        let piece_at = |s: f64| {
            let mut at = 0.0;
            self.pieces.iter().position(|p| {
                at += p.length();
                s <= at
            })
        };
        let mut stack = vec![([0.0, total], [0.0, total])];
        let mut seen = 0;
        while let Some((a, b)) = stack.pop() {
            if b[1] <= a[0] {
                continue;
            }
            // The farthest apart two of their places can be along the path.
            let apart = b[1] - a[0];
            let apart = if self.closed && apart > total / 2.0 {
                let back = total - (b[0] - a[1]).max(0.0);
                let mid = total / 2.0;
                if (b[0] - a[1]) > mid { back } else { mid }
            } else {
                apart
            };
            if apart < PI * r {
                continue;
            }
            let (l, m) = (a[1] - a[0], b[1] - b[0]);
            let (s, t) = (f64::midpoint(a[0], a[1]), f64::midpoint(b[0], b[1]));
            let distance = (self.point(s) - self.point(t)).norm();
            if distance - (l + m) / 2.0 > 2.0 * r {
                continue;
            }
            seen += 1;
            if (l < SHORTEST && m < SHORTEST) || seen > BUDGET {
                let last = self.pieces.len().saturating_sub(1);
                return Err([s, t].map(|s| piece_at(s).unwrap_or(last)));
            }
            if l > m {
                stack.extend([([a[0], s], b), ([s, a[1]], b)]);
            } else {
                stack.extend([(a, [b[0], t]), (a, [t, b[1]])]);
            }
        }
        Ok(())
    }
}

pub(super) fn refused(face: &str, detail: String) -> BuildError {
    BuildError::Primitive { face: face.to_owned(), detail }
}
