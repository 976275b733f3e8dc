//! What `check` says of a mesh that was not made here. Keys are a promise; lengths are mm.

use crate::intake::{Edges, Examined, Fault, Patch, Soup, UNDECIDED, examine, patches, sharp_edges};
use crate::papers::report::BLADE;
use crate::papers::wall_places::{PlaceExtent, WallPlace};
use crate::units::{Deg, Mm};
use crate::walls::proof::{self, LAND, Place, Proof, Question, WORK};
use crate::walls::{DELTA_WEAR, Interval, Judgement, judge, map};
use serde::Serialize;

/// Width of the interval of the thinnest place, mm: a tenth of the micrometre a wall is judged by.
const NARROW: f64 = 1e-4;
/// Places so many times as thick as the thinnest are not told, unless thinner than the least wall. Our choice: past it a place is
/// no thin one, and one as wide as the part has the same thickness everywhere, which is long to prove.
const THICK: f64 = 4.0;
/// Work that the search may take for each triangle, where that is more than [`WORK`]: half a millisecond or so.
const WORK_EACH: usize = 10_000;
/// Triangles of a mesh that is sampled for the extent of its thin places at most.
const SAMPLED: usize = 100_000;
/// Longest edge of a sample, as a share of the part's size. Our choice.
const SAMPLE: f64 = 0.03;

/// The whole report.
#[derive(Clone, Debug, Serialize)]
pub struct CheckedMesh {
    /// Form of the report.
    pub format: &'static str,
    /// Program and version.
    pub program: String,
    /// `binary STL`, `text STL` or `3MF`.
    pub form: &'static str,
    /// `pass`, `fail` or `unverified`: the mesh, and its thinnest wall where a least wall was given.
    pub verdict: Judgement,
    /// The mesh.
    pub mesh: MeshFacts,
    /// Faults and notes, each with a place.
    pub faults: Vec<Fault>,
    /// Walls.
    pub walls: MeshWallReport,
}

/// Counts and sizes.
#[derive(Clone, Debug, Serialize)]
pub struct MeshFacts {
    /// Closed, turned right, nowhere through itself.
    pub sound: bool,
    /// Triangles.
    pub triangles: usize,
    /// Vertices after welding.
    pub vertices: usize,
    /// Closed surfaces.
    pub shells: usize,
    /// Smooth patches.
    pub patches: usize,
    /// Volume of a sound mesh.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub volume_mm3: Option<f64>,
    /// Skin.
    pub area_mm2: f64,
    /// Size along x, y, z.
    pub size_mm: [f64; 3],
}

/// Walls of a mesh.
#[derive(Clone, Debug, Serialize)]
pub struct MeshWallReport {
    /// Least wall asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_mm: Option<f64>,
    /// Largest angle between a chord and the normals at its ends.
    pub delta_deg: f64,
    /// `pass` or `fail` against the least wall; `unverified` without one, or where nothing was measured.
    pub verdict: Judgement,
    /// Why it is unverified.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// The thinnest place.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thinnest: Option<ThinPlace>,
    /// The thinnest places, one for each pair of patches.
    pub places: Vec<WallPlace>,
    /// Metal this near to an edge sharper than twice the angle, or to such a corner, is not counted as wall.
    pub land_mm: f64,
    /// Edges whose metal comes to an angle below 60 degrees.
    pub acute_edges: Vec<Edges>,
}

/// A thin place.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ThinPlace {
    /// Length of the shortest chord found.
    pub value_mm: f64,
    /// Proved: nothing between the two is thinner.
    pub lower_mm: f64,
    /// Length of a real chord.
    pub upper_mm: f64,
    /// The two faces or patches.
    pub between: [String; 2],
    /// Both ends.
    pub at: [[f64; 3]; 2],
    /// Whether it is the blade beside a sharp edge.
    pub blade: bool,
}

impl ThinPlace {
    /// A place in words.
    #[must_use]
    pub fn of(p: &Place, name: &dyn Fn(u32) -> String) -> Self {
        Self {
            value_mm: p.value.get(),
            lower_mm: p.interval.lower.get(),
            upper_mm: p.interval.upper.get(),
            between: p.faces.map(name),
            at: p.at.map(|q| [q.x, q.y, q.z]),
            blade: p.blade,
        }
    }
}

/// Triangles of a mesh whose walls are measured, at most; a link has 20 thousand.
pub const MOST_WALLS: usize = 500_000;

/// Examines a mesh and measures its walls, the `count` thinnest of them.
#[must_use]
pub fn check_mesh(soup: &Soup, least: Option<Mm>, count: usize) -> CheckedMesh {
    let e = examine(soup);
    let (patch, names) = if e.sound() { patches(&e.mesh) } else { (Vec::new(), Vec::new()) };
    let small = e.mesh.triangles.len() <= MOST_WALLS;
    let proof = (e.sound() && small).then(|| {
        let question = Question {
            delta: DELTA_WEAR,
            below: Mm(f64::MAX),
            count,
            thick: (THICK, least.unwrap_or(Mm(0.0))),
            tolerance: Mm(NARROW),
            work: WORK.max(WORK_EACH * e.mesh.triangles.len()),
        };
        proof::of_mesh(&e.mesh, &patch, &question)
    });
    let walls = walls(&e, &patch, &names, proof.flatten(), least);
    let undecided = e.faults.iter().filter(|f| f.breaks).all(|f| f.code == UNDECIDED);
    let verdict = match (e.sound(), least) {
        (false, _) if undecided => Judgement::Unverified,
        (false, _) => Judgement::Fail,
        (true, None) => Judgement::Pass,
        (true, Some(_)) => walls.verdict,
    };
    CheckedMesh {
        format: "colletline mesh report 1",
        program: format!("colletline {}", env!("CARGO_PKG_VERSION")),
        form: soup.form,
        verdict,
        mesh: MeshFacts {
            sound: e.sound(),
            triangles: e.mesh.triangles.len(),
            vertices: e.mesh.positions.len(),
            shells: e.shells,
            patches: names.len(),
            volume_mm3: e.sound().then_some(e.volume_mm3),
            area_mm2: e.area_mm2,
            size_mm: e.size_mm,
        },
        faults: e.faults,
        walls,
    }
}

fn walls(
    e: &Examined,
    patch: &[u32],
    names: &[Patch],
    proof: Option<Proof>,
    least: Option<Mm>,
) -> MeshWallReport {
    let name = |k: u32| names.get(k as usize).map_or_else(String::new, |p| p.name.clone());
    let mut out = MeshWallReport {
        least_mm: least.map(Mm::get),
        delta_deg: DELTA_WEAR.get(),
        verdict: Judgement::Unverified,
        why: None,
        thinnest: None,
        places: Vec::new(),
        land_mm: LAND,
        acute_edges: sharp_edges(&e.mesh, patch, names, Deg(BLADE)),
    };
    let Some(proof) = proof else {
        out.why = Some(if e.sound() {
            let n = e.mesh.triangles.len();
            format!(
                "walls are measured on meshes of at most {MOST_WALLS} triangles; this one has {n}. Export the part coarser"
            )
        } else {
            "a broken mesh has no inside: its walls were not measured".into()
        });
        return out;
    };
    let patches: Vec<u32> = proof.places.iter().flat_map(|p| p.faces).collect();
    let size = e.size_mm.into_iter().fold(0.0, f64::max);
    let map = (e.mesh.triangles.len() <= SAMPLED)
        .then(|| map::of_patches(&e.mesh, patch, &patches, DELTA_WEAR, Mm(SAMPLE * size)))
        .flatten();
    let told = |p: &Place| {
        let place = ThinPlace::of(p, &name);
        let of = |k: usize| move |f: u32| f == p.faces[k];
        let extent = map.as_ref().map(|m| PlaceExtent::of(m, &place, least.map(Mm::get), [&of(0), &of(1)]));
        WallPlace { words: place.between.clone(), place, limit: None, extent, change: Vec::new() }
    };
    out.places = proof.places.iter().map(told).collect();
    // The bound of the whole part is the bound of its thinnest place.
    out.thinnest = out.places.first().map(|p| {
        let mut t = p.place.clone();
        t.lower_mm = t.lower_mm.min(proof.lower.get());
        t
    });
    let interval = match &out.thinnest {
        Some(t) => Interval { lower: Mm(t.lower_mm), upper: Mm(t.upper_mm) },
        // Nothing opposes anything: no wall at all.
        None => Interval { lower: proof.lower, upper: Mm(f64::MAX) },
    };
    match least {
        None => out.why = Some("no least wall was given: --min-wall 0.4 judges against 0.4 mm".into()),
        Some(limit) => {
            out.verdict = judge(&interval, limit);
            if out.verdict == Judgement::Unverified {
                let ended = if proof.ended {
                    "; the search ended at its limit of work: export the part coarser, or ask for a least wall farther from this"
                } else {
                    ""
                };
                out.why = Some(format!(
                    "the least wall lies between what is proved ({:.4}) and what was found ({:.4}){ended}",
                    interval.lower.get(),
                    interval.upper.get()
                ));
            }
        }
    }
    out
}
