//! What the page asks, and what it is told.

use super::desk::Desk;
use crate::cli::{files, papers};
use crate::papers::page;
use crate::papers::wall_places::map_of;
use crate::params::edit::{self, Edits};
use crate::params::{self, LARGEST_FILE};
use crate::solid::Solid;
use crate::units::Deg;
use crate::walls::{self, Kind, Placed};
use serde::Deserialize;
use serde_json::{Value, json};
use std::io::Read as _;
use std::path::Path;
use tiny_http::{Header, Method, Request, Response};

/// Longest body taken, bytes: every parameter a few times over.
const LONGEST: u64 = 200_000;
/// Header that only a script of the page itself can set: a browser asks the server before it lets another site do so.
const OURS: &str = "Colletline";
/// Widest interval a distance is told with, mm.
const NARROW: f64 = 1e-6;

#[derive(Default, Deserialize)]
struct Asked {
    #[serde(default)]
    edits: Edits,
    #[serde(default)]
    file: String,
    #[serde(default)]
    faces: Vec<Spot>,
    /// How far the leaf is open, degrees.
    #[serde(default)]
    open: f64,
}

/// A face that is measured from or to.
#[derive(Default, Deserialize)]
struct Spot {
    face: String,
    /// Which piece of the clasp it is on, as the page counts them; none for the link alone.
    #[serde(default)]
    piece: Option<usize>,
}

/// Whether a request comes from the page itself: another site that a browser has open must not reach the file.
fn ours(request: &Request, port: u16) -> bool {
    let of = |name: &'static str| {
        let mut all = request.headers().iter().filter(|h| h.field.equiv(name)).map(|h| h.value.as_str());
        match (all.next(), all.next()) {
            (one, None) => Ok(one),
            // Said twice: nobody knows which one counts.
            _ => Err(()),
        }
    };
    let (Ok(host), Ok(origin), Ok(mark), Ok(site)) =
        (of("Host"), of("Origin"), of(OURS), of("Sec-Fetch-Site"))
    else {
        return false;
    };
    let names = [format!("127.0.0.1:{port}"), format!("localhost:{port}")];
    let known = |name: &str| names.iter().any(|n| n == name);
    let host = host.is_some_and(known);
    let origin = origin.map(|o| o.strip_prefix("http://").is_some_and(known));
    let reads = *request.method() == Method::Get;
    // A page opened by hand, or by a link elsewhere, may be looked at; a script of another site may not ask.
    let site = site.is_none_or(|s| s == "same-origin" || s == "none" || (reads && request.url() == "/"));
    host && site && if reads { origin != Some(false) } else { origin == Some(true) && mark == Some("page") }
}

/// Answers one request.
pub(super) fn answer(mut request: Request, file: &Path, port: u16, desk: &Desk) {
    if !ours(&request, port) {
        let _ =
            request.respond(Response::from_string("only the page itself may ask\n").with_status_code(403));
        return;
    }
    let url = request.url().to_owned();
    let (path, query) = url.split_once('?').unwrap_or((&url, ""));
    let reply = match (request.method().clone(), path) {
        (Method::Get, "/") => return send(request, page::live().map(|p| (p, "text/html; charset=utf-8"))),
        (Method::Get, "/state") => {
            let since = query.strip_prefix("since=").and_then(|s| s.parse().ok()).unwrap_or(0);
            let mut out = desk.lock().told(since);
            if since == 0 {
                out["schema"] = params::schema();
            }
            Ok(out)
        }
        (Method::Post, "/try") => asked(&mut request).map(|a| {
            let since = query.strip_prefix("since=").and_then(|s| s.parse().ok()).unwrap_or(0);
            desk.change(a.edits);
            desk.lock().told(since)
        }),
        (Method::Post, "/save") => asked(&mut request).map(|a| save(file, &a, desk)),
        (Method::Post, "/measure") => asked(&mut request).map(|a| measure(&a, desk)),
        (Method::Post, "/walls") => Ok(thickness(desk)),
        _ => {
            let _ = request.respond(Response::from_string("there is no such page\n").with_status_code(404));
            return;
        }
    };
    send(request, reply.map(|v| (v.to_string(), "application/json")));
}

fn send(request: Request, reply: Result<(String, &str), String>) {
    let (code, (text, kind)) = match reply {
        Ok(r) => (200, r),
        Err(e) => (400, (json!({ "message": e }).to_string(), "application/json")),
    };
    let mut response = Response::from_string(text).with_status_code(code);
    let headers = [
        ("Content-Type", kind),
        ("Cache-Control", "no-store"),
        ("X-Content-Type-Options", "nosniff"),
        ("X-Frame-Options", "DENY"),
        ("Cross-Origin-Resource-Policy", "same-origin"),
    ];
    for (name, value) in headers {
        if let Ok(h) = Header::from_bytes(name, value) {
            response.add_header(h);
        }
    }
    // A browser that has gone needs no answer.
    let _ = request.respond(response);
}

fn asked(request: &mut Request) -> Result<Asked, String> {
    let mut text = String::new();
    request.as_reader().take(LONGEST + 1).read_to_string(&mut text).map_err(|e| e.to_string())?;
    if text.len() as u64 > LONGEST {
        return Err(format!("a request has at most {LONGEST} bytes"));
    }
    serde_json::from_str(&text).map_err(|e| e.to_string())
}

/// Writes the changes into the file, unless it is another than the page knew.
fn save(file: &Path, asked: &Asked, desk: &Desk) -> Value {
    let refuse = |message: String| json!({ "saved": false, "message": message });
    // A name that stands for another file stays; what it stands for is written.
    let file = std::fs::canonicalize(file).unwrap_or_else(|_| file.to_owned());
    let bytes = match files::read(&file, LARGEST_FILE as u64) {
        Ok(b) => b,
        Err(e) => return refuse(e.to_string()),
    };
    if papers::revision(&bytes) != asked.file {
        return refuse("the file has been changed meanwhile: look at it as it is now, then save".into());
    }
    let new = match edit::edited(&String::from_utf8_lossy(&bytes), &asked.edits) {
        Ok(n) => n,
        Err(e) => return refuse(e),
    };
    if let Err(problems) = params::read_with(&new, &[], &desk.lock().own) {
        return refuse(problems.first().map_or_else(String::new, |p| p.message.clone()));
    }
    let name = file.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let folder = file.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    match files::write_all(folder, &[(name, new.clone().into_bytes())]) {
        Ok(()) => {
            desk.saved(new.into_bytes());
            json!({ "saved": true })
        }
        Err(e) => refuse(e.to_string()),
    }
}

/// The least distance between two faces, on the exact solids as they stand.
fn measure(asked: &Asked, desk: &Desk) -> Value {
    let [a, b] = asked.faces.as_slice() else { return json!({ "message": "two faces are needed" }) };
    let found = match (a.piece, b.piece) {
        (None, None) => {
            let Some(built) = desk.lock().built.clone() else {
                return json!({ "message": "there is no link to measure yet" });
            };
            walls::measure_within(&built.solid, &[&a.face], &[&b.face], Kind::Shortest, NARROW)
        }
        (Some(p), Some(q)) => match pieces(desk, asked.open, [p, q]) {
            Some([one, _]) if p == q => {
                walls::measure_within(&one.1, &[&a.face], &[&b.face], Kind::Shortest, NARROW)
            }
            Some([one, two]) => {
                let (from, to) = ([a.face.as_str()], [b.face.as_str()]);
                // Two of one kind are told apart.
                let second = if one.0 == two.0 { format!("the other {}", two.0) } else { two.0.to_owned() };
                let (from, to) = (
                    Placed { name: one.0, solid: &one.1, faces: &from },
                    Placed { name: &second, solid: &two.1, faces: &to },
                );
                walls::clearance(&from, &to)
            }
            None => return json!({ "message": "the clasp is still being built" }),
        },
        _ => return json!({ "message": "both places must be in one view" }),
    };
    match found {
        Ok(m) => json!({
            "value": m.value.get(),
            "lower": m.interval.lower.get(),
            "upper": m.interval.upper.get(),
            "at": m.at.map(|p| [p.x, p.y, p.z]),
            "between": m.between,
        }),
        Err(e) => json!({ "message": e.to_string() }),
    }
}

/// Title and solid of two pieces of the clasp where they stand.
fn pieces(desk: &Desk, open: f64, which: [usize; 2]) -> Option<[(&'static str, Solid); 2]> {
    let (parts, built) = {
        let s = desk.lock();
        (s.parts.clone(), s.built.clone())
    };
    let (design, parts) = parts?;
    let open = if open.is_finite() { open.clamp(0.0, 180.0) } else { 0.0 };
    let all = page::shown_pieces(&design, Deg(open));
    let one = |k: usize| {
        let piece = all.get(k)?;
        if piece.part == "link" {
            return Some(("first link", built.as_ref()?.solid.moved(&piece.frame)));
        }
        let part = parts.iter().find(|p| p.name == piece.part)?;
        Some((part.title, part.solid.moved(&piece.frame)))
    };
    Some([one(which[0])?, one(which[1])?])
}

/// How thick the metal of the link is; takes a second or two.
fn thickness(desk: &Desk) -> Value {
    let (built, turn) = {
        let s = desk.lock();
        (s.built.clone(), s.turn)
    };
    let map = built.and_then(|b| map_of(&b.solid));
    map.map_or_else(
        || json!({ "message": "there is no link to measure yet" }),
        |m| json!({ "turn": turn, "map": page::WallMap::of(&m) }),
    )
}
