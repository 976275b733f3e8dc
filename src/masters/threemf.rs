//! 3MF (3MF Core Specification 1.3, ISO/IEC 25422): millimetres, named objects with their colour, metadata, and where each
//! copy stands on the plate.
//!
//! The package is a ZIP file of three parts: content types, relations, and the model. Entries carry one fixed time and
//! stand in one order, so that the same model gives the same bytes.

use super::scene::Scene;
use std::fmt::Write as _;
use std::io::{Cursor, Write as _};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

const CORE: &str = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02";
const TYPES: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
<Types xmlns=\"http://schemas.openxmlformats.org/package/2006/content-types\">\
<Default Extension=\"rels\" ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/>\
<Default Extension=\"model\" ContentType=\"application/vnd.ms-package.3dmanufacturing-3dmodel+xml\"/></Types>\n";
const RELATIONS: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
<Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\">\
<Relationship Target=\"/3D/3dmodel.model\" Id=\"rel0\" \
Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/></Relationships>\n";

/// The bytes of a 3MF file.
///
/// # Errors
/// What the archive's writer says; nothing a caller can mend.
pub fn to_bytes(scene: &Scene<'_>) -> Result<Vec<u8>, String> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .last_modified_time(DateTime::default());
    let model = model(scene);
    for (name, text) in
        [("[Content_Types].xml", TYPES), ("_rels/.rels", RELATIONS), ("3D/3dmodel.model", model.as_str())]
    {
        zip.start_file(name, options).map_err(|e| e.to_string())?;
        zip.write_all(text.as_bytes()).map_err(|e| e.to_string())?;
    }
    Ok(zip.finish().map_err(|e| e.to_string())?.into_inner())
}

fn model(scene: &Scene<'_>) -> String {
    let mut out = String::with_capacity(1 << 20);
    let o = &mut out;
    // Writing to a String cannot fail.
    let _ = writeln!(
        o,
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<model unit=\"millimeter\" xml:lang=\"en\" xmlns=\"{CORE}\">"
    );
    for (name, text) in &scene.metadata {
        let _ = writeln!(o, " <metadata name=\"{name}\">{}</metadata>", escaped(text));
    }
    let _ = writeln!(o, " <resources>\n  <basematerials id=\"1\">");
    for object in &scene.objects {
        let [r, g, b] = object.colour;
        let name = escaped(&object.material);
        let _ = writeln!(o, "   <base name=\"{name}\" displaycolor=\"#{r:02X}{g:02X}{b:02X}\"/>");
    }
    let _ = writeln!(o, "  </basematerials>");
    for (i, object) in scene.objects.iter().enumerate() {
        let (id, name) = (i + 2, escaped(&object.name));
        let _ = writeln!(
            o,
            "  <object id=\"{id}\" type=\"model\" name=\"{name}\" partnumber=\"{name}\" pid=\"1\" pindex=\"{i}\">\n   <mesh>\n    <vertices>"
        );
        for p in &object.mesh.positions {
            let _ = writeln!(
                o,
                "     <vertex x=\"{}\" y=\"{}\" z=\"{}\"/>",
                single(p.x),
                single(p.y),
                single(p.z)
            );
        }
        let _ = writeln!(o, "    </vertices>\n    <triangles>");
        for [a, b, c] in &object.mesh.triangles {
            let _ = writeln!(o, "     <triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>");
        }
        let _ = writeln!(o, "    </triangles>\n   </mesh>\n  </object>");
    }
    let _ = writeln!(o, " </resources>\n <build>");
    for item in &scene.items {
        let f = &item.frame;
        let numbers: Vec<String> = [f.x, f.y, f.z, f.origin.coords]
            .iter()
            .flat_map(|v| v.iter().map(|c| single(*c)).collect::<Vec<_>>())
            .collect();
        let _ = writeln!(
            o,
            "  <item objectid=\"{}\" transform=\"{}\" partnumber=\"{}\"/>",
            item.object + 2,
            numbers.join(" "),
            escaped(&item.name)
        );
    }
    let _ = writeln!(o, " </build>\n</model>");
    out
}

/// A coordinate in single precision as the shortest text that reads back the same.
#[allow(clippy::cast_possible_truncation)]
fn single(x: f64) -> String {
    format!("{}", x as f32 + 0.0)
}

fn escaped(s: &str) -> String {
    let mut out = String::with_capacity(s.len());
    for c in s.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            _ => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_escaped_and_coordinates_read_back() {
        assert_eq!(escaped("a<b & \"c\""), "a&lt;b &amp; &quot;c&quot;");
        for x in [0.1_f32, 1e-7, -2.5, 123.456, 16_777_216.0] {
            assert_eq!(single(f64::from(x)).parse::<f32>().ok(), Some(x));
        }
        assert_eq!(single(-0.0), "0");
    }
}
