//! 3MF: a ZIP archive (ISO/IEC 29500-2 packaging) with a model in XML (3MF Consortium, "3MF Core Specification" 1.3).
//!
//! Read: objects with meshes, components with transforms, the build, the unit. Properties, materials and extensions are
//! passed over; they do not move a surface.

use super::{IntakeError, MOST, Soup};
use crate::spelling::shorten;
use nalgebra::{Matrix3, Point3, Vector3};
use quick_xml::events::{BytesStart, Event};
use quick_xml::{Reader, XmlVersion};
use std::collections::BTreeMap;
use std::io::Read as _;

/// Type of the relation from the package to its model.
const MODEL: &str = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel";
/// Bytes of one part of the archive at most, unpacked: a model of 8 million triangles.
const LARGEST: u64 = 1_000_000_000;
/// Components within components at most.
const DEPTH: usize = 16;
/// Bodies placed at most, each by an item of the build or a component: an order has hundreds.
const MOST_PLACED: usize = 100_000;

#[derive(Clone, Copy, Debug)]
struct Motion {
    turn: Matrix3<f64>,
    shift: Vector3<f64>,
}

#[derive(Debug, Default)]
struct Object {
    vertices: Vec<Point3<f64>>,
    triangles: Vec<[usize; 3]>,
    components: Vec<(u32, Motion)>,
}

/// A fault in words; those of a library may quote the file at any length.
fn fault(e: impl ToString) -> IntakeError {
    let said = e.to_string();
    IntakeError::ThreeMf(if said.len() > 400 { shorten(&said) } else { said })
}

pub(super) fn read(bytes: &[u8]) -> Result<Soup, IntakeError> {
    let mut archive = zip::ZipArchive::new(std::io::Cursor::new(bytes)).map_err(fault)?;
    let mut part = |name: &str| -> Result<String, IntakeError> {
        let file = archive.by_name(name).map_err(|_| fault(format!("it has no part `{}`", shorten(name))))?;
        let mut text = String::new();
        // What the archive says of its size is not believed.
        let size = file.take(LARGEST + 1).read_to_string(&mut text).map_err(fault)?;
        if size as u64 > LARGEST {
            return Err(fault(format!(
                "`{}` has more than {LARGEST} bytes unpacked. Export the part coarser",
                shorten(name)
            )));
        }
        Ok(text)
    };
    let model = model_name(&part("_rels/.rels")?)?;
    let text = part(&model)?;
    let (objects, build, scale) = parsed(&text)?;
    let mut soup = Soup { triangles: Vec::new(), form: "3MF", unit_stated: true };
    if build.is_empty() {
        return Err(fault("it builds nothing: its <build> is empty"));
    }
    let mut bodies = 0;
    for (id, m) in build {
        placed(&objects, id, &m, scale, 0, &mut bodies, &mut soup.triangles)?;
    }
    Ok(soup)
}

/// The part that the package says is its model.
fn model_name(rels: &str) -> Result<String, IntakeError> {
    let mut reader = Reader::from_str(rels);
    loop {
        match reader.read_event().map_err(fault)? {
            Event::Start(e) | Event::Empty(e) if e.local_name().as_ref() == "Relationship" => {
                if value(&e, "Type")?.is_some_and(|t| t == MODEL)
                    && let Some(target) = value(&e, "Target")?
                {
                    return Ok(target.trim_start_matches('/').to_owned());
                }
            }
            Event::Eof => return Err(fault("it names no model")),
            _ => {}
        }
    }
}

fn value(e: &BytesStart<'_>, name: &str) -> Result<Option<String>, IntakeError> {
    let a = e.try_get_attribute(name).map_err(fault)?;
    a.map(|a| a.normalized_value(XmlVersion::Implicit1_0).map(std::borrow::Cow::into_owned).map_err(fault))
        .transpose()
}

fn number<T: std::str::FromStr>(e: &BytesStart<'_>, name: &str) -> Result<T, IntakeError> {
    let tag = || shorten(e.local_name().as_ref());
    let v = value(e, name)?.ok_or_else(|| fault(format!("a <{}> has no `{name}`", tag())))?;
    v.trim().parse().map_err(|_| fault(format!("`{}` is no {name} of a <{}>", shorten(&v), tag())))
}

/// Twelve numbers, row by row; a point is a row to the left of them.
fn motion(e: &BytesStart<'_>) -> Result<Motion, IntakeError> {
    let Some(text) = value(e, "transform")? else {
        return Ok(Motion { turn: Matrix3::identity(), shift: Vector3::zeros() });
    };
    let m = text.split_ascii_whitespace().take(13).map(str::parse).collect::<Result<Vec<f64>, _>>();
    let Some(m) = m.ok().filter(|m| m.len() == 12) else {
        return Err(fault(format!("`{}` is not a transform of twelve numbers", shorten(&text))));
    };
    Ok(Motion { turn: Matrix3::from_row_slice(&m[..9]).transpose(), shift: Vector3::new(m[9], m[10], m[11]) })
}

#[allow(clippy::type_complexity)]
fn parsed(text: &str) -> Result<(BTreeMap<u32, Object>, Vec<(u32, Motion)>, f64), IntakeError> {
    let mut reader = Reader::from_str(text);
    let (mut objects, mut build, mut scale) = (BTreeMap::<u32, Object>::new(), Vec::new(), 1.0);
    let (mut current, mut models, mut corners, mut facets) = (None, 0, 0_usize, 0_usize);
    loop {
        let event = reader.read_event().map_err(fault)?;
        let e = match &event {
            Event::Start(e) | Event::Empty(e) => e,
            Event::End(e) => {
                if e.local_name().as_ref() == "object" {
                    current = None;
                }
                continue;
            }
            Event::Eof => break,
            _ => continue,
        };
        match e.local_name().as_ref() {
            "model" => {
                models += 1;
                let unit = value(e, "unit")?.unwrap_or_else(|| "millimeter".into());
                scale = match unit.as_str() {
                    "micron" => 0.001,
                    "millimeter" => 1.0,
                    "centimeter" => 10.0,
                    "inch" => 25.4,
                    "foot" => 304.8,
                    "meter" => 1000.0,
                    other => return Err(fault(format!("`{}` is no unit of a 3MF", shorten(other)))),
                };
            }
            "object" => {
                let id = number(e, "id")?;
                objects.insert(id, Object::default());
                // An empty element has no end of its own.
                current = matches!(event, Event::Start(_)).then_some(id);
            }
            "item" => build.push((number(e, "objectid")?, motion(e)?)),
            tag => {
                let Some(o) = current.and_then(|id| objects.get_mut(&id)) else { continue };
                match tag {
                    "vertex" => {
                        corners += 1;
                        if corners > 3 * MOST {
                            return Err(fault(format!("it has more than {} vertices", 3 * MOST)));
                        }
                        o.vertices.push(Point3::new(number(e, "x")?, number(e, "y")?, number(e, "z")?));
                    }
                    "triangle" => {
                        o.triangles.push([number(e, "v1")?, number(e, "v2")?, number(e, "v3")?]);
                        facets += 1;
                        if facets > MOST {
                            return Err(IntakeError::TooMany(facets));
                        }
                    }
                    "component" => o.components.push((number(e, "objectid")?, motion(e)?)),
                    _ => {}
                }
            }
        }
    }
    if models == 0 {
        return Err(fault("its model part holds no <model>"));
    }
    Ok((objects, build, scale))
}

fn placed(
    objects: &BTreeMap<u32, Object>,
    id: u32,
    m: &Motion,
    scale: f64,
    depth: usize,
    bodies: &mut usize,
    out: &mut Vec<[Point3<f64>; 3]>,
) -> Result<(), IntakeError> {
    let o = objects.get(&id).ok_or_else(|| fault(format!("there is no object {id}")))?;
    if depth > DEPTH {
        return Err(fault("its components hold each other without end"));
    }
    *bodies += 1;
    if *bodies > MOST_PLACED {
        return Err(fault(format!("it places more than {MOST_PLACED} bodies. Export one part at a time")));
    }
    if out.len() + o.triangles.len() > MOST {
        return Err(IntakeError::TooMany(out.len() + o.triangles.len()));
    }
    let mirrored = m.turn.determinant() < 0.0;
    let at = |v: usize| o.vertices.get(v).map(|p| Point3::from((m.turn * p.coords + m.shift) * scale));
    for t in &o.triangles {
        let [a, b, c] = t.map(at);
        let (Some(a), Some(b), Some(c)) = (a, b, c) else {
            return Err(fault(format!("a triangle of object {id} names a vertex that is not there")));
        };
        // A mirrored part keeps its outside outside (core specification, 4.1: the transform's sign is the reader's).
        out.push(if mirrored { [a, c, b] } else { [a, b, c] });
    }
    for (child, n) in &o.components {
        let both = Motion { turn: m.turn * n.turn, shift: m.turn * n.shift + m.shift };
        placed(objects, *child, &both, scale, depth + 1, bodies, out)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::super::read;
    use super::*;
    use std::fmt::Write as _;
    use std::io::Write as _;

    fn packed(model: &str) -> Vec<u8> {
        let mut z = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
        let o = zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Deflated);
        z.start_file("_rels/.rels", o).unwrap();
        write!(z, r#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r" Type="{MODEL}" Target="/3D/a.model"/></Relationships>"#).unwrap();
        z.start_file("3D/a.model", o).unwrap();
        z.write_all(model.as_bytes()).unwrap();
        z.finish().unwrap().into_inner()
    }

    const TETRAHEDRON: &str = r#"<mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="1" y="0" z="0"/><vertex x="0" y="1" z="0"/><vertex x="0" y="0" z="1"/></vertices><triangles><triangle v1="0" v2="2" v3="1"/><triangle v1="0" v2="1" v3="3"/><triangle v1="1" v2="2" v3="3"/><triangle v1="2" v2="0" v3="3"/></triangles></mesh>"#;

    #[test]
    fn components_transforms_and_units_are_followed() {
        let model = format!(
            r#"<model unit="inch" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><resources><object id="1" type="model">{TETRAHEDRON}</object><object id="2"><components><component objectid="1"/><component objectid="1" transform="-1 0 0 0 1 0 0 0 1 5 0 0"/></components></object></resources><build><item objectid="2" transform="1 0 0 0 1 0 0 0 1 0 0 10"/></build></model>"#
        );
        let s = read(&packed(&model)).unwrap();
        assert_eq!(s.triangles.len(), 8);
        // The second is mirrored in x = 0 and moved by 5: its corner (1, 0, 0) is at (4, 0, 10) inch.
        let x = s.triangles[4..].iter().flatten().map(|p| p.x).fold(9e9, f64::min);
        assert!((x - 4.0 * 25.4).abs() < 1e-9 && (s.triangles[0][0].z - 254.0).abs() < 1e-9);
        let e = super::super::examine(&s);
        assert!(e.sound() && (e.volume_mm3 - 2.0 / 6.0 * 25.4f64.powi(3)).abs() < 1e-6, "{e:?}");
    }

    #[test]
    fn what_is_not_there_is_said() {
        let said = |m: &str| read(&packed(m)).unwrap_err().to_string();
        assert!(said("<model><build/></model>").contains("builds nothing"));
        assert!(said(r#"<model><build><item objectid="7"/></build></model>"#).contains("no object 7"));
        assert!(said(r#"<model unit="ell"/>"#).contains("`ell`"));
        let loops = r#"<model><resources><object id="1"><components><component objectid="1"/></components></object></resources><build><item objectid="1"/></build></model>"#;
        assert!(said(loops).contains("without end"));
        // Sixteen storeys of ten components each, and not one triangle: 10^16 bodies to place.
        let storey = |k: usize| {
            let parts = format!(r#"<component objectid="{}"/>"#, k + 1).repeat(10);
            format!(r#"<object id="{k}"><components>{parts}</components></object>"#)
        };
        let tower: String = (1..16).map(storey).collect();
        let tower = format!(
            r#"<model><resources>{tower}<object id="16"/></resources><build><item objectid="1"/></build></model>"#
        );
        assert!(said(&tower).contains("100000 bodies"), "{}", said(&tower));
        assert!(read(b"PK\x03\x04rubbish").is_err());
        // Eleven numbers and a word are not twelve numbers, nor are thirteen.
        for transform in
            ["1 0 0 0 1 0 0 0 1 0 0 up", "1 0 0 0 1 0 0 0 1 0 0 up 0", "1 0 0 0 1 0 0 0 1 0 0 0 0"]
        {
            let turned =
                format!(r#"<model><build><item objectid="1" transform="{transform}"/></build></model>"#);
            assert!(said(&turned).contains("twelve numbers"), "{transform}");
        }
    }

    /// RUSTSEC-2026-0194 and -0195: a tag of very many attributes or namespaces must not cost their square, or more than they are
    /// long. The first took ten minutes where the names of all attributes are compared with each other.
    #[test]
    fn a_tag_may_have_any_number_of_attributes() {
        let mut attributes = String::new();
        for k in 0..800_000 {
            write!(attributes, r#" a{k}="" xmlns:n{k}="u""#).unwrap();
        }
        let model = format!(
            r#"<model{attributes}><resources><object id="1">{TETRAHEDRON}</object></resources><build><item objectid="1"/></build></model>"#
        );
        assert_eq!(read(&packed(&model)).unwrap().triangles.len(), 4);
    }

    #[test]
    fn what_is_quoted_of_a_file_is_short() {
        let long = "x".repeat(100_000);
        for model in [
            format!(r#"<model unit="{long}"/>"#),
            format!("<model></{long}>"),
            format!(r#"<model><build><item objectid="{long}"/></build></model>"#),
            format!(r#"<model><build><item objectid="1" transform="{long}"/></build></model>"#),
        ] {
            let said = read(&packed(&model)).unwrap_err().to_string();
            assert!(said.len() < 500, "{}", said.len());
        }
        for text in [format!("solid a\n{long}\n"), format!("solid a\nfacet\nvertex 0 {long}\n")] {
            assert!(read(text.as_bytes()).unwrap_err().to_string().len() < 500);
        }
    }
}
