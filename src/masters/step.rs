//! STEP (ISO 10303-21, schema AUTOMOTIVE_DESIGN of ISO 10303-214): analytic entities, millimetres, a name on every face.
//!
//! PLANE, CYLINDRICAL_SURFACE, CONICAL_SURFACE, SPHERICAL_SURFACE, TOROIDAL_SURFACE, LINE and CIRCLE where the geometry is that; conics as rational, fitted
//! curves as plain B-splines. No date and no author: the same solid gives the same bytes.

use crate::solid::nurbs::Nurbs;
use crate::solid::surface::{Cone, square_to};
use crate::solid::{Curve, Edge, Face, Frame, Solid, Surface, Torus};
use nalgebra::{Point3, Vector3};
use std::fmt::Write as _;

/// A copy of a part in an assembly.
#[derive(Clone, Debug, PartialEq)]
pub struct Copy {
    /// Index of the part.
    pub part: usize,
    /// Name of this copy.
    pub name: String,
    /// Image of the part's own frame.
    pub frame: Frame,
}

/// Several parts and their places as one STEP file: a product for each part, one for the whole, and a
/// `NEXT_ASSEMBLY_USAGE_OCCURRENCE` for each copy. Copies of parts that are not there are left out.
#[must_use]
pub fn assembly(name: &str, parts: &[(&str, &Solid)], copies: &[Copy]) -> String {
    let mut w = Writer { count: 0, text: String::new() };
    let name = string(name);
    let units = w.units();
    let application = w.application();
    let made: Vec<[usize; 3]> = parts
        .iter()
        .map(|(part, solid)| {
            let part = string(part);
            let bodies = w.bodies(solid, &part);
            let o = w.placement(&Point3::origin(), &Vector3::z(), &Vector3::x());
            let shape = w.representation(&part, o, &bodies, units);
            [o, shape, w.define(&part, shape, application)]
        })
        .collect();
    let placed: Vec<(&Copy, [usize; 3], usize)> = copies
        .iter()
        .filter_map(|c| {
            let part = *made.get(c.part)?;
            let f = &c.frame;
            Some((c, part, w.placement(&f.origin, &f.z, &f.x)))
        })
        .collect();
    let o = w.placement(&Point3::origin(), &Vector3::z(), &Vector3::x());
    let places: Vec<usize> = [o].into_iter().chain(placed.iter().map(|p| p.2)).collect();
    let whole = w.add(&format!("SHAPE_REPRESENTATION('{name}',({}),#{units})", list(&places)));
    let definition = w.define(&name, whole, application);
    for (i, (c, [origin, shape, part], place)) in placed.iter().enumerate() {
        let n = string(&c.name);
        let use_of =
            w.add(&format!("NEXT_ASSEMBLY_USAGE_OCCURRENCE('{}','{n}','',#{definition},#{part},$)", i + 1));
        let of = w.add(&format!("PRODUCT_DEFINITION_SHAPE('','',#{use_of})"));
        let moved = w.add(&format!("ITEM_DEFINED_TRANSFORMATION('','',#{origin},#{place})"));
        let relation = w.add(&format!(
            "(REPRESENTATION_RELATIONSHIP('','',#{shape},#{whole})\
             REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION(#{moved})SHAPE_REPRESENTATION_RELATIONSHIP())"
        ));
        w.add(&format!("CONTEXT_DEPENDENT_SHAPE_REPRESENTATION(#{relation},#{of})"));
    }
    w.file(&name, "assembly")
}

/// The solid as a STEP file of one part called `name`.
#[must_use]
pub fn write(solid: &Solid, name: &str) -> String {
    let mut w = Writer { count: 0, text: String::new() };
    let name = string(name);
    let bodies = w.bodies(solid, &name);
    w.product(&bodies, &name);
    w.file(&name, "solid")
}

struct Writer {
    count: usize,
    text: String,
}

impl Writer {
    /// The whole file.
    fn file(&self, name: &str, what: &str) -> String {
        format!(
            "ISO-10303-21;\nHEADER;\n\
             FILE_DESCRIPTION(('{what} of {name}, lengths in millimetres'),'2;1');\n\
             FILE_NAME('{name}','',(''),(''),'colletline {}','colletline','');\n\
             FILE_SCHEMA(('AUTOMOTIVE_DESIGN {{ 1 0 10303 214 1 1 1 1 }}'));\n\
             ENDSEC;\nDATA;\n{}ENDSEC;\nEND-ISO-10303-21;\n",
            env!("CARGO_PKG_VERSION"),
            self.text
        )
    }
    fn add(&mut self, entity: &str) -> usize {
        self.count += 1;
        // Writing to a String cannot fail.
        let _ = writeln!(self.text, "#{}={entity};", self.count);
        self.count
    }
    fn point(&mut self, p: &Point3<f64>) -> usize {
        self.add(&format!("CARTESIAN_POINT('',({},{},{}))", real(p.x), real(p.y), real(p.z)))
    }
    fn direction(&mut self, d: &Vector3<f64>) -> usize {
        self.add(&format!("DIRECTION('',({},{},{}))", real(d.x), real(d.y), real(d.z)))
    }
    fn placement(&mut self, o: &Point3<f64>, z: &Vector3<f64>, x: &Vector3<f64>) -> usize {
        let (o, z, x) = (self.point(o), self.direction(z), self.direction(x));
        self.add(&format!("AXIS2_PLACEMENT_3D('',#{o},#{z},#{x})"))
    }

    /// One entity for each body of the solid; of several the second is called `name 2`, and so on.
    fn bodies(&mut self, solid: &Solid, name: &str) -> Vec<usize> {
        let vertices: Vec<usize> = solid
            .vertices
            .iter()
            .map(|p| {
                let p = self.point(p);
                self.add(&format!("VERTEX_POINT('',#{p})"))
            })
            .collect();
        let edges: Vec<usize> = solid
            .edges
            .iter()
            .map(|e| {
                let c = self.curve(e);
                let [a, b] = e.ends.map(|v| vertices[v]);
                self.add(&format!("EDGE_CURVE('',#{a},#{b},#{c},.T.)"))
            })
            .collect();
        let faces: Vec<usize> = solid.faces.iter().map(|f| self.face(solid, f, &edges)).collect();
        let of = |shell: &[usize]| -> String { list(&shell.iter().map(|&f| faces[f]).collect::<Vec<_>>()) };
        let mut bodies = Vec::new();
        for (i, lump) in solid.bodies().iter().enumerate() {
            let name = if i == 0 { name.to_owned() } else { format!("{name} {}", i + 1) };
            let outer = self.add(&format!("CLOSED_SHELL('',({}))", of(&lump.outer)));
            if lump.voids.is_empty() {
                bodies.push(self.add(&format!("MANIFOLD_SOLID_BREP('{name}',#{outer})")));
                continue;
            }
            // Faces of a hollow point into it, out of the material: its shell is used as it is.
            let voids: Vec<usize> = lump
                .voids
                .iter()
                .map(|hollow| {
                    let shell = self.add(&format!("CLOSED_SHELL('',({}))", of(hollow)));
                    self.add(&format!("ORIENTED_CLOSED_SHELL('',*,#{shell},.T.)"))
                })
                .collect();
            bodies.push(self.add(&format!("BREP_WITH_VOIDS('{name}',#{outer},({}))", list(&voids))));
        }
        bodies
    }

    fn face(&mut self, solid: &Solid, f: &Face, edges: &[usize]) -> usize {
        let (surface, same_sense) = match &f.surface {
            Surface::Plane(p) => {
                let o = middle_on_plane(solid, f, p.normal, p.offset);
                let a = self.placement(&o, &p.normal, &square_to(&p.normal));
                (self.add(&format!("PLANE('',#{a})")), f.outward)
            }
            Surface::Cone(c) => (self.cone(solid, f, c), f.outward),
            Surface::Torus(t) => (self.torus(f, t), f.outward),
        };
        let bounds: Vec<usize> = f
            .loops
            .iter()
            .enumerate()
            .map(|(i, ring)| {
                let uses: Vec<usize> = ring
                    .iter()
                    .map(|u| {
                        let sense = if u.forward { 'T' } else { 'F' };
                        self.add(&format!("ORIENTED_EDGE('',*,*,#{},.{sense}.)", edges[u.edge]))
                    })
                    .collect();
                let ring = self.add(&format!("EDGE_LOOP('',({}))", list(&uses)));
                let kind = if i == 0 { "FACE_OUTER_BOUND" } else { "FACE_BOUND" };
                self.add(&format!("{kind}('',#{ring},.T.)"))
            })
            .collect();
        let sense = if same_sense { 'T' } else { 'F' };
        self.add(&format!("ADVANCED_FACE('{}',({}),#{surface},.{sense}.)", string(&f.name), list(&bounds)))
    }

    /// A cylinder or cone; the parameter's zero, where other kernels put a seam, lies where the face is not.
    fn cone(&mut self, solid: &Solid, f: &Face, c: &Cone) -> usize {
        let height = first_point(solid, f).map_or(0.0, |p| c.angle_height(&p).1);
        let at = c.origin + c.axis * height;
        let axis = if c.slope < 0.0 { -c.axis } else { c.axis };
        let placement = self.placement(&at, &axis, &c.spoke(f.seam));
        let radius = real(c.radius_at(height));
        if c.is_cylinder() {
            self.add(&format!("CYLINDRICAL_SURFACE('',#{placement},{radius})"))
        } else {
            let half = real(libm::atan(c.slope.abs()));
            self.add(&format!("CONICAL_SURFACE('',#{placement},{radius},{half})"))
        }
    }

    /// A torus or sphere, its zero where the face is not.
    fn torus(&mut self, f: &Face, t: &Torus) -> usize {
        if t.is_sphere() {
            let a = self.placement(&t.centre, &t.axis, &t.reference);
            return self.add(&format!("SPHERICAL_SURFACE('',#{a},{})", real(t.minor)));
        }
        let a = self.placement(&t.centre, &t.axis, &t.spoke(f.seam));
        self.add(&format!("TOROIDAL_SURFACE('',#{a},{},{})", real(t.major), real(t.minor)))
    }

    fn curve(&mut self, e: &Edge) -> usize {
        match &e.curve {
            Curve::Line(a, b) => {
                let (p, d) = (self.point(a), self.direction(&(b - a).normalize()));
                let v = self.add(&format!("VECTOR('',#{d},1.)"));
                self.add(&format!("LINE('',#{p},#{v})"))
            }
            Curve::Arc(a) => {
                let placement = self.placement(&a.centre, &a.x.cross(&a.y).normalize(), &a.x.normalize());
                self.add(&format!("CIRCLE('',#{placement},{})", real(a.x.norm())))
            }
            other => self.spline(&Nurbs::of(other)),
        }
    }

    fn spline(&mut self, n: &Nurbs) -> usize {
        let points: Vec<usize> = n.points.iter().map(|p| self.point(p)).collect();
        let join = |v: Vec<String>| v.join(",");
        let (points, degree) = (list(&points), n.degree);
        let folds = join(n.knots.iter().map(|k| k.1.to_string()).collect());
        let knots = join(n.knots.iter().map(|k| real(k.0)).collect());
        match &n.weights {
            None => self.add(&format!(
                "B_SPLINE_CURVE_WITH_KNOTS('',{degree},({points}),.UNSPECIFIED.,.F.,.F.,({folds}),({knots}),.UNSPECIFIED.)"
            )),
            Some(w) => {
                let weights = join(w.iter().map(|&w| real(w)).collect());
                self.add(&format!(
                    "(BOUNDED_CURVE()B_SPLINE_CURVE({degree},({points}),.UNSPECIFIED.,.F.,.F.)\
                     B_SPLINE_CURVE_WITH_KNOTS(({folds}),({knots}),.UNSPECIFIED.)CURVE()\
                     GEOMETRIC_REPRESENTATION_ITEM()RATIONAL_B_SPLINE_CURVE(({weights}))REPRESENTATION_ITEM(''))"
                ))
            }
        }
    }

    fn product(&mut self, bodies: &[usize], name: &str) {
        let o = self.placement(&Point3::origin(), &Vector3::z(), &Vector3::x());
        let units = self.units();
        let shape = self.representation(name, o, bodies, units);
        let application = self.application();
        self.define(name, shape, application);
    }

    /// Millimetres, radians, and how sure places are.
    fn units(&mut self) -> usize {
        let mm = self.add("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))");
        let rad = self.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))");
        let sr = self.add("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())");
        // 1e-6 mm: edges lie within 1e-7 of their surfaces.
        let u = self.add(&format!(
            "UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-06),#{mm},'distance_accuracy_value','')"
        ));
        self.add(&format!(
            "(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((#{u}))\
             GLOBAL_UNIT_ASSIGNED_CONTEXT((#{mm},#{rad},#{sr}))REPRESENTATION_CONTEXT('',''))"
        ))
    }

    fn representation(&mut self, name: &str, origin: usize, bodies: &[usize], units: usize) -> usize {
        self.add(&format!(
            "ADVANCED_BREP_SHAPE_REPRESENTATION('{name}',(#{origin},{}),#{units})",
            list(bodies)
        ))
    }

    fn application(&mut self) -> usize {
        let application = self.add("APPLICATION_CONTEXT('automotive design')");
        self.add(&format!(
            "APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,#{application})"
        ));
        application
    }

    /// A product with its shape; its definition.
    fn define(&mut self, name: &str, shape: usize, application: usize) -> usize {
        let context = self.add(&format!("PRODUCT_CONTEXT('',#{application},'mechanical')"));
        let product = self.add(&format!("PRODUCT('{name}','{name}','',(#{context}))"));
        let formation = self.add(&format!("PRODUCT_DEFINITION_FORMATION('','',#{product})"));
        let context =
            self.add(&format!("PRODUCT_DEFINITION_CONTEXT('part definition',#{application},'design')"));
        let definition = self.add(&format!("PRODUCT_DEFINITION('design','',#{formation},#{context})"));
        let of = self.add(&format!("PRODUCT_DEFINITION_SHAPE('','',#{definition})"));
        self.add(&format!("SHAPE_DEFINITION_REPRESENTATION(#{of},#{shape})"));
        definition
    }
}

fn first_point(solid: &Solid, f: &Face) -> Option<Point3<f64>> {
    f.loops.first().and_then(|r| r.first()).map(|u| solid.vertices[solid.start_of(*u)])
}

/// A point of the plane beside the face, so that no large offset is written.
fn middle_on_plane(solid: &Solid, f: &Face, normal: Vector3<f64>, offset: f64) -> Point3<f64> {
    let p = first_point(solid, f).unwrap_or_else(Point3::origin);
    p - normal * (normal.dot(&p.coords) - offset)
}

/// A STEP real: shortest text that reads back the same, always with a decimal point.
fn real(x: f64) -> String {
    // -0.0 + 0.0 is 0.0.
    let s = format!("{:?}", x + 0.0);
    match s.split_once('e') {
        Some((m, e)) => format!("{m}{}E{e}", if m.contains('.') { "" } else { "." }),
        None => s.strip_suffix(".0").map_or_else(|| s.clone(), |i| format!("{i}.")),
    }
}

fn list(ids: &[usize]) -> String {
    ids.iter().map(|i| format!("#{i}")).collect::<Vec<_>>().join(",")
}

/// A STEP string: quotes doubled, what is outside printable ASCII as \X2\ code points (ISO 10303-21, 6.4.3).
fn string(s: &str) -> String {
    let mut out = String::new();
    for c in s.chars() {
        match c {
            '\'' => out.push_str("''"),
            '\\' => out.push_str("\\\\"),
            ' '..='~' => out.push(c),
            _ => {
                let mut units = [0u16; 2];
                let hex: String = c.encode_utf16(&mut units).iter().map(|u| format!("{u:04X}")).collect();
                let _ = write!(out, "\\X2\\{hex}\\X0\\");
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reals_always_have_a_point() {
        for (x, s) in
            [(1.0, "1."), (-0.0, "0."), (0.25, "0.25"), (1e-7, "1.E-7"), (1.5e-9, "1.5E-9"), (1e20, "1.E20")]
        {
            assert_eq!(real(x), s, "{x:?}");
        }
    }

    #[test]
    fn strings_follow_part_21() {
        // ISO 10303-21:2016, 6.4.3: apostrophes doubled, other characters by code point.
        assert_eq!(string("d'or é"), "d''or \\X2\\00E9\\X0\\");
    }
}
