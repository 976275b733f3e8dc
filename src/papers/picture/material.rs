//! What bodies are made of, as far as a picture shows it.

use nalgebra::Vector3;

/// Linear red, green, blue with the primaries of sRGB (IEC 61966-2-1), 1 being white.
pub(super) type Rgb = Vector3<f64>;

/// A material of a body.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Material {
    /// Platinum 950, polished.
    Platinum,
    /// Yellow gold 18 ct, polished.
    YellowGold,
    /// Sterling silver, polished.
    Silver,
    /// A cut stone, as a mirror of its facets: what lies within is not traced.
    Stone,
}

/// How a surface answers light.
#[derive(Clone, Copy, Debug)]
pub(super) struct Finish {
    /// Share reflected when seen straight on.
    pub facing: Rgb,
    /// Share of the reflection that is a clear mirror; the rest is spread wide by fine scratches.
    pub mirror: f64,
    /// Width of the blur at the borders of reflected lamps, as a tangent.
    pub soft: f64,
}

impl Material {
    pub(super) fn finish(self) -> Finish {
        // Reflectance of pure metals seen straight on, sRGB primaries, as computed in the literature on shading from the
        // refractive indices measured by Johnson and Christy and collected by Palik (platinum 0.673 0.637 0.585,
        // silver 0.972 0.960 0.915, gold 1.000 0.766 0.336): from memory. Gold is paled towards an 18 ct alloy, platinum
        // and silver are cooled and the platinum lifted to the polish a client sees: our choice.
        let (facing, mirror) = match self {
            Self::Platinum => (Rgb::new(0.745, 0.735, 0.715), 0.80),
            Self::YellowGold => (Rgb::new(1.0, 0.742, 0.345), 0.80),
            Self::Silver => (Rgb::new(0.962, 0.955, 0.930), 0.84),
            // Most of the light that enters a brilliant comes back by total reflection: our choice.
            Self::Stone => (Rgb::new(0.80, 0.86, 0.93), 1.0),
        };
        Finish { facing, mirror, soft: if self == Self::Stone { 0.02 } else { 0.10 } }
    }
}

impl Finish {
    /// Share reflected under an angle with this cosine, after Schlick, "An inexpensive BRDF model", 1994.
    pub(super) fn fresnel(&self, cosine: f64) -> Rgb {
        let m = 1.0 - cosine.clamp(0.0, 1.0);
        let m5 = m * m * m * m * m;
        self.facing + (Rgb::repeat(1.0) - self.facing) * m5
    }
}
