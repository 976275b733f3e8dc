//! All that a picture is computed from: triangles with their bodies, exact normals, and rays among them.

use super::Scene;
use super::camera::Lens;
use super::material::{Finish, Rgb};
use super::rays::Tree;
use super::studio::Studio;
use super::table::Table;
use crate::solid::Face;
use nalgebra::{Isometry3, Point3, Vector3};

/// Rays leave a surface this share of the scene's radius above it, so that they do not meet the chords of the face they
/// start from: the meshes we show lie within about 1e-3 of their solids.
const LIFT: f64 = 2e-3;
/// Share of light the table reflects like a mirror, and how wide its satin surface blurs lamps. Our choice.
const GLOSS: f64 = 0.16;
const SATIN: f64 = 0.22;
/// Mirror reflections followed after the first.
const BOUNCES: u32 = 3;

/// One triangle of the scene.
pub(super) struct Part<'a> {
    /// Number of its face among all faces of the scene; of all triangles of one body together if it has no solid.
    pub key: u32,
    /// Outward normal of the flat triangle.
    normal: Vector3<f64>,
    finish: Finish,
    /// Exact face and the body's pose.
    face: Option<(&'a Face, Isometry3<f64>)>,
}

/// The scene in its studio.
pub(super) struct Stage<'a> {
    pub lens: Lens,
    pub triangles: Vec<[Point3<f64>; 3]>,
    pub parts: Vec<Part<'a>>,
    pub tree: Tree,
    pub studio: Studio,
    pub table: Table,
}

/// A point of a surface, ready to be shaded.
#[derive(Clone, Copy)]
pub(super) struct Spot {
    pub part: usize,
    pub point: Point3<f64>,
    pub normal: Vector3<f64>,
    /// Direction the light leaves in, reversed: from the eye into the scene.
    pub look: Vector3<f64>,
}

/// Placed triangles, and what each belongs to.
type Gathered<'a> = (Vec<[Point3<f64>; 3]>, Vec<Part<'a>>);

/// Placed triangles of a scene, and what each belongs to; else the place of a broken body.
#[allow(clippy::cast_possible_truncation)]
pub(super) fn gather<'a>(scene: &Scene<'a>) -> Result<Gathered<'a>, usize> {
    let (mut triangles, mut parts) = (Vec::new(), Vec::new());
    let mut keys = 0_u32;
    for (number, body) in scene.bodies.iter().enumerate() {
        let mesh = body.mesh;
        for (i, t) in mesh.triangles.iter().enumerate() {
            let corner = |k: usize| mesh.positions.get(t[k] as usize).map(|p| body.pose * p);
            let (Some(a), Some(b), Some(c)) = (corner(0), corner(1), corner(2)) else { return Err(number) };
            if ![a, b, c].iter().all(|p| p.coords.iter().all(|v| v.is_finite())) {
                return Err(number);
            }
            // A triangle without area shows nothing.
            let Some(normal) = (b - a).cross(&(c - a)).try_normalize(0.0) else { continue };
            let of = mesh.face.get(i).copied().unwrap_or(0);
            let face = match body.solid {
                Some(s) => Some((s.faces.get(of as usize).ok_or(number)?, body.pose)),
                None => None,
            };
            triangles.push([a, b, c]);
            parts.push(Part { key: keys + of.min(FACES - 1), normal, finish: body.material.finish(), face });
        }
        keys += FACES;
    }
    Ok((triangles, parts))
}

/// Faces of a body told apart; more share a number, which only blurs their ambient light.
const FACES: u32 = 1 << 20;

impl Part<'_> {
    /// Outward unit normal at a point near the triangle: that of the exact face, else that of the triangle.
    fn normal(&self, p: &Point3<f64>) -> Vector3<f64> {
        self.face.as_ref().map_or(self.normal, |(face, pose)| {
            let n = pose * face.normal(&pose.inverse_transform_point(p));
            // A face whose orientation contradicts its mesh would show black holes.
            if n.dot(&self.normal) < 0.0 { self.normal } else { n }
        })
    }
}

impl Stage<'_> {
    /// The point of a triangle that a picture point shows.
    pub(super) fn spot(&self, part: usize, x: f64, y: f64) -> Spot {
        let (eye, look) = self.lens.ray(x, y);
        let t = &self.triangles[part];
        let n = self.parts[part].normal;
        let depths = t.map(|p| (p - eye).dot(&look));
        let (near, far) =
            depths.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), d| (a.min(*d), b.max(*d)));
        let slope = n.dot(&look);
        // Edge-on the plane says nothing; any depth of the triangle does.
        let at = if slope.abs() > 1e-9 { n.dot(&(t[0] - eye)) / slope } else { near };
        self.at(part, eye + look * at.clamp(near, far), look)
    }
    fn at(&self, part: usize, point: Point3<f64>, look: Vector3<f64>) -> Spot {
        let n = self.parts[part].normal(&point);
        // Chords of a rounded face show a little of what the exact face turns away: bend its normal into sight.
        let c = n.dot(&look);
        let normal = if c > -0.02 { (n - look * (c + 0.02)).normalize() } else { n };
        Spot { part, point, normal, look }
    }
    /// Where rays that leave a spot start.
    pub(super) fn above(&self, s: &Spot) -> Point3<f64> {
        s.point + (s.normal + self.parts[s.part].normal) * (LIFT / 2.0 * self.lens.radius)
    }
    /// Light a spot sends to the eye; `open` is the share of the wide light that reaches it.
    pub(super) fn shade(&self, s: &Spot, open: f64) -> Rgb {
        self.reflect(s, open, BOUNCES)
    }
    fn reflect(&self, s: &Spot, open: f64, bounces: u32) -> Rgb {
        let finish = &self.parts[s.part].finish;
        let cosine = -s.normal.dot(&s.look);
        let fresnel = finish.fresnel(cosine);
        let away = (s.look + s.normal * (2.0 * cosine)).normalize();
        let mirror = self.trace(&self.above(s), &away, finish.soft, bounces);
        let wide = self.studio.wide_light(&s.normal) * open;
        fresnel.component_mul(&mirror) * finish.mirror
            + finish.facing.component_mul(&wide) * (1.0 - finish.mirror)
    }
    fn trace(&self, from: &Point3<f64>, d: &Vector3<f64>, soft: f64, bounces: u32) -> Rgb {
        let Some((t, id)) = self.tree.hit(from, d, f64::INFINITY) else { return self.room(from, d, soft) };
        let spot = self.at(id as usize, from + d * t, *d);
        if bounces == 0 {
            // Deep between walls light has lost most of its strength.
            return self.parts[spot.part].finish.facing.component_mul(&self.studio.wide_light(&spot.normal))
                * 0.35;
        }
        // Inside corners see about half of the room.
        self.reflect(&spot, 0.5, bounces - 1)
    }
    /// What the table shows of the bodies to the eye: their light and its share, 0 to 1.
    pub(super) fn table_mirror(&self, g: &Point3<f64>, look: &Vector3<f64>) -> Option<(Rgb, f64)> {
        let up = self.lens.stage_up;
        let away = look - up * (2.0 * look.dot(&up));
        let from = g + up * (LIFT * self.lens.radius);
        let (t, id) = self.tree.hit(&from, &away, f64::INFINITY)?;
        let spot = self.at(id as usize, from + away * t, away);
        // The satin surface loses what stands higher above it.
        let share = GLOSS * super::studio::smooth(1.1, 0.0, t / self.lens.radius);
        Some((self.reflect(&spot, 0.5, 0), share))
    }
    /// Light of room or table along a ray that meets no body.
    fn room(&self, from: &Point3<f64>, d: &Vector3<f64>, soft: f64) -> Rgb {
        let above = self.studio.light(from, d, soft);
        let Some((g, far)) = self.table.meet(from, d) else { return above };
        let open = self.table.open(&g);
        let up = self.lens.stage_up;
        let bounced = self.studio.light(&g, &(d - up * (2.0 * d.dot(&up))), SATIN);
        let below = self.studio.table_light(open, far) + bounced * (GLOSS * open);
        // The table runs into the wall without a corner.
        let share = super::studio::smooth(0.02, 0.12, -d.dot(&self.lens.stage_up));
        above + (below - above) * share
    }
}
