//! What a part is made of: unions and differences of turned profiles, prisms and leaning squares, every face named.

use super::frame::Frame;
use serde_json::{Value, json};

/// A solid as a recipe.
#[derive(Clone, Debug, PartialEq)]
pub enum Tree {
    /// One body.
    Primitive(Primitive),
    /// Everything that is in at least one.
    Union(Vec<Tree>),
    /// The first without all the others.
    Difference(Box<Tree>, Vec<Tree>),
}

/// A body of one profile, in a frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Primitive {
    /// Where it stands.
    pub frame: Frame,
    /// What it is.
    pub shape: Shape,
}

/// Profile and sweep.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// Closed polygon of (radius, height), radius >= 0, turned once about the frame's z.
    Revolve(Vec<TurnedCorner>),
    /// Closed line and arc profile in the frame's xy plane, swept from z = 0 to `height` > 0.
    Prism {
        /// Corners in order.
        profile: Vec<Corner>,
        /// Length of the sweep, mm.
        height: f64,
        /// Names of the end faces at z = 0 and z = `height`.
        ends: [String; 2],
    },
    /// A square body from z = 0 to `height` whose four sides lean alike.
    Taper(Box<Taper>),
}

/// A square body with leaning sides and round corners.
///
/// Each corner is a right circular cylinder tangent to its two sides, its axis parallel to the ridge where they would
/// meet, so that the radius of the corner is the same at every height.
#[derive(Clone, Debug, PartialEq)]
pub struct Taper {
    /// Half width at z = 0, mm.
    pub half: f64,
    /// Growth of the half width per unit of height: tangent of the sides' angle to the frame's z.
    pub slope: f64,
    /// Radius of the corners, mm; above zero.
    pub corner: f64,
    /// Length along z, mm.
    pub height: f64,
    /// Names of the sides at +x, +y, -x, -y.
    pub sides: [String; 4],
    /// Names of the corners at +x +y, -x +y, -x -y, +x -y.
    pub corners: [String; 4],
    /// Names of the end faces at z = 0 and z = `height`.
    pub ends: [String; 2],
}

/// Corner of a turned profile.
#[derive(Clone, Debug, PartialEq)]
pub struct TurnedCorner {
    /// Distance from the axis, mm.
    pub radius: f64,
    /// Height along the axis, mm.
    pub height: f64,
    /// Name of the face that the segment to the next corner sweeps.
    pub name: String,
}

/// Corner of a prism's profile.
#[derive(Clone, Debug, PartialEq)]
pub struct Corner {
    /// Position in the frame, mm.
    pub at: [f64; 2],
    /// Set when the segment to the next corner is an arc (below a full turn).
    pub arc: Option<ArcTo>,
    /// Name of the face that the segment to the next corner sweeps.
    pub name: String,
}

/// How an arc segment runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ArcTo {
    /// Centre in the frame, mm.
    pub centre: [f64; 2],
    /// Counter-clockwise seen from the frame's +z.
    pub ccw: bool,
}

/// A turned body from (radius, height, name of the segment to the next corner).
#[must_use]
pub fn revolve(frame: Frame, profile: &[(f64, f64, &str)]) -> Tree {
    let corners =
        profile.iter().map(|&(radius, height, name)| TurnedCorner { radius, height, name: name.to_owned() });
    Tree::Primitive(Primitive { frame, shape: Shape::Revolve(corners.collect()) })
}

/// A round bar along the frame's z from height 0 to `height`.
#[must_use]
pub fn cylinder(frame: Frame, radius: f64, height: f64, side: &str, ends: [&str; 2]) -> Tree {
    let [bottom, top] = ends;
    revolve(frame, &[(0.0, 0.0, bottom), (radius, 0.0, side), (radius, height, top), (0.0, height, "")])
}

/// A prism over a profile.
#[must_use]
pub fn prism(frame: Frame, profile: Vec<Corner>, height: f64, ends: [&str; 2]) -> Tree {
    Tree::Primitive(Primitive {
        frame,
        shape: Shape::Prism { profile, height, ends: ends.map(str::to_owned) },
    })
}

/// A square body with leaning sides; the sides are called `name.right`, `.front`, `.left`, `.back` (at +x, +y, -x, -y) and
/// the corners `corner.1` to `corner.4` counter-clockwise from +x +y.
#[must_use]
pub fn taper(
    frame: Frame,
    [half, slope]: [f64; 2],
    corner: f64,
    height: f64,
    names: [&str; 2],
    ends: [&str; 2],
) -> Tree {
    let [side, round] = names;
    Tree::Primitive(Primitive {
        frame,
        shape: Shape::Taper(Box::new(Taper {
            half,
            slope,
            corner,
            height,
            sides: ["right", "front", "left", "back"].map(|s| format!("{side}.{s}")),
            corners: ["1", "2", "3", "4"].map(|s| format!("{round}.{s}")),
            ends: ends.map(str::to_owned),
        })),
    })
}

/// A rectangle `x0..x1` by `y0..y1` with corners rounded by `radius` (0 for sharp ones), counter-clockwise.
///
/// Straight sides carry the given names in the order bottom (-y), right (+x), top (+y), left (-x); a corner carries the
/// names of its two sides joined by a hyphen. A side that the rounding uses up is left out.
#[must_use]
pub fn rounded_rectangle(x: [f64; 2], y: [f64; 2], radius: f64, sides: [&str; 4]) -> Vec<Corner> {
    let [bottom, right, top, left] = sides;
    let r = radius;
    if r <= 0.0 {
        let corner = |at, name: &str| Corner { at, arc: None, name: name.to_owned() };
        return vec![
            corner([x[0], y[0]], bottom),
            corner([x[1], y[0]], right),
            corner([x[1], y[1]], top),
            corner([x[0], y[1]], left),
        ];
    }
    let mut out = Vec::with_capacity(8);
    let mut add = |from: [f64; 2], to: [f64; 2], name: &str, centre: [f64; 2], joint: String| {
        // A straight side shorter than the noise of its own coordinates is no side.
        if libm::hypot(to[0] - from[0], to[1] - from[1]) > 1e-9 {
            out.push(Corner { at: from, arc: None, name: name.to_owned() });
        }
        out.push(Corner { at: to, arc: Some(ArcTo { centre, ccw: true }), name: joint });
    };
    let join = |a: &str, b: &str| format!("{a}-{}", b.rsplit('.').next().unwrap_or(b));
    add([x[0] + r, y[0]], [x[1] - r, y[0]], bottom, [x[1] - r, y[0] + r], join(bottom, right));
    add([x[1], y[0] + r], [x[1], y[1] - r], right, [x[1] - r, y[1] - r], join(top, right));
    add([x[1] - r, y[1]], [x[0] + r, y[1]], top, [x[0] + r, y[1] - r], join(top, left));
    add([x[0], y[1] - r], [x[0], y[0] + r], left, [x[0] + r, y[0] + r], join(bottom, left));
    out
}

impl Shape {
    /// The shape reflected in its frame's plane y = 0. A turned body is its own reflection.
    fn mirrored(&self) -> Self {
        match self {
            Self::Revolve(_) => self.clone(),
            Self::Prism { profile, height, ends } => {
                let flip = |[x, y]: [f64; 2]| [x, -y];
                let corner = |c: &Corner| Corner {
                    at: flip(c.at),
                    arc: c.arc.map(|a| ArcTo { centre: flip(a.centre), ccw: !a.ccw }),
                    name: c.name.clone(),
                };
                Self::Prism {
                    profile: profile.iter().map(corner).collect(),
                    height: *height,
                    ends: ends.clone(),
                }
            }
            Self::Taper(t) => {
                let mut t = t.clone();
                // Front and back change places, and so do the corners beside them.
                t.sides.swap(1, 3);
                t.corners.swap(0, 3);
                t.corners.swap(1, 2);
                Self::Taper(t)
            }
        }
    }
    /// Every length times the factor.
    fn scaled(&self, k: f64) -> Self {
        let at = |[x, y]: [f64; 2]| [x * k, y * k];
        match self {
            Self::Revolve(c) => Self::Revolve(
                c.iter()
                    .map(|c| TurnedCorner {
                        radius: c.radius * k,
                        height: c.height * k,
                        name: c.name.clone(),
                    })
                    .collect(),
            ),
            Self::Prism { profile, height, ends } => Self::Prism {
                profile: profile
                    .iter()
                    .map(|c| Corner {
                        at: at(c.at),
                        arc: c.arc.map(|a| ArcTo { centre: at(a.centre), ..a }),
                        name: c.name.clone(),
                    })
                    .collect(),
                height: height * k,
                ends: ends.clone(),
            },
            Self::Taper(t) => Self::Taper(Box::new(Taper {
                half: t.half * k,
                corner: t.corner * k,
                height: t.height * k,
                ..(**t).clone()
            })),
        }
    }
    /// A point in the middle of the body, in its frame.
    fn middle(&self) -> [f64; 3] {
        let between = |all: &mut dyn Iterator<Item = f64>| {
            let (low, high) = all.fold((f64::MAX, f64::MIN), |(l, h), x| (l.min(x), h.max(x)));
            if low > high { 0.0 } else { f64::midpoint(low, high) }
        };
        match self {
            Self::Revolve(c) => [0.0, 0.0, between(&mut c.iter().map(|c| c.height))],
            Self::Prism { profile, height, .. } => [
                between(&mut profile.iter().map(|c| c.at[0])),
                between(&mut profile.iter().map(|c| c.at[1])),
                height / 2.0,
            ],
            Self::Taper(t) => [0.0, 0.0, t.height / 2.0],
        }
    }
}

impl Primitive {
    /// A point in the middle of the body.
    #[must_use]
    pub fn middle(&self) -> nalgebra::Point3<f64> {
        let [x, y, z] = self.shape.middle();
        self.frame.point(x, y, z)
    }
}

impl Tree {
    /// This without others.
    #[must_use]
    pub fn minus(self, others: Vec<Self>) -> Self {
        if others.is_empty() { self } else { Self::Difference(Box::new(self), others) }
    }
    /// This together with others.
    #[must_use]
    pub fn plus(self, mut others: Vec<Self>) -> Self {
        if others.is_empty() {
            return self;
        }
        others.insert(0, self);
        Self::Union(others)
    }
    /// All primitives, depth first; the order in which faces are numbered.
    #[must_use]
    pub fn primitives(&self) -> Vec<&Primitive> {
        fn walk<'a>(t: &'a Tree, out: &mut Vec<&'a Primitive>) {
            match t {
                Tree::Primitive(p) => out.push(p),
                Tree::Union(v) => v.iter().for_each(|c| walk(c, out)),
                Tree::Difference(a, v) => {
                    walk(a, out);
                    v.iter().for_each(|c| walk(c, out));
                }
            }
        }
        let mut out = Vec::new();
        walk(self, &mut out);
        out
    }
    /// The whole recipe moved rigidly: `to` is the image of the world's frame.
    #[must_use]
    pub fn moved(&self, to: &Frame) -> Self {
        match self {
            Self::Primitive(p) => {
                Self::Primitive(Primitive { frame: p.frame.inside(to), shape: p.shape.clone() })
            }
            Self::Union(v) => Self::Union(v.iter().map(|c| c.moved(to)).collect()),
            Self::Difference(a, v) => {
                Self::Difference(Box::new(a.moved(to)), v.iter().map(|c| c.moved(to)).collect())
            }
        }
    }
    /// The whole recipe enlarged about the origin by a factor above zero: planes, cylinders and cones stay what they are.
    #[must_use]
    pub fn scaled(&self, k: f64) -> Self {
        match self {
            Self::Primitive(p) => Self::Primitive(Primitive {
                frame: Frame { origin: p.frame.origin * k, ..p.frame },
                shape: p.shape.scaled(k),
            }),
            Self::Union(v) => Self::Union(v.iter().map(|c| c.scaled(k)).collect()),
            Self::Difference(a, v) => {
                Self::Difference(Box::new(a.scaled(k)), v.iter().map(|c| c.scaled(k)).collect())
            }
        }
    }
    /// The whole recipe reflected in the plane x = 0. Faces keep their names.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        match self {
            Self::Primitive(p) => {
                let flip = |v: &nalgebra::Vector3<f64>| nalgebra::Vector3::new(-v.x, v.y, v.z);
                let (f, x, y) = (&p.frame, flip(&p.frame.x), -flip(&p.frame.y));
                let frame =
                    Frame { origin: nalgebra::Point3::from(flip(&f.origin.coords)), x, y, z: flip(&f.z) };
                Self::Primitive(Primitive { frame, shape: p.shape.mirrored() })
            }
            Self::Union(v) => Self::Union(v.iter().map(Self::mirrored).collect()),
            Self::Difference(a, v) => {
                Self::Difference(Box::new(a.mirrored()), v.iter().map(Self::mirrored).collect())
            }
        }
    }
    /// The recipe as JSON, for another kernel to build the same part from.
    #[must_use]
    pub fn to_json(&self) -> Value {
        match self {
            Self::Union(v) => json!({"t": "union", "of": v.iter().map(Self::to_json).collect::<Vec<_>>()}),
            Self::Difference(a, v) => json!({
                "t": "difference", "from": a.to_json(), "minus": v.iter().map(Self::to_json).collect::<Vec<_>>()
            }),
            Self::Primitive(p) => {
                let f = &p.frame;
                let frame =
                    json!({"o": f.origin.coords.as_slice(), "x": f.x.as_slice(), "z": f.z.as_slice()});
                match &p.shape {
                    Shape::Revolve(c) => json!({
                        "t": "revolve", "frame": frame,
                        "profile": c.iter().map(|c| json!([c.radius, c.height])).collect::<Vec<_>>()
                    }),
                    Shape::Taper(t) => json!({
                        "t": "taper", "frame": frame, "half": t.half, "slope": t.slope, "corner": t.corner,
                        "height": t.height
                    }),
                    Shape::Prism { profile, height, .. } => json!({
                        "t": "prism", "frame": frame, "height": height,
                        "profile": profile.iter().map(|c| json!({
                            "at": c.at, "arc": c.arc.map(|a| json!({"centre": a.centre, "ccw": a.ccw}))
                        })).collect::<Vec<_>>()
                    }),
                }
            }
        }
    }
}
