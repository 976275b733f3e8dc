//! The thinnest places of a link in `report.json`; the same names as in the report of a mesh.

use crate::papers::mesh_report::ThinPlace;
use crate::papers::wall_places::{PlaceExtent, PlaceLimit, WallPlace};
use crate::parts::link::{kind, wall_class, words};
use crate::solid::Solid;
use crate::trade::limits::State;
use crate::trade::own::Own;
use crate::units::Mm;
use crate::walls::DELTA_WEAR;
use crate::walls::map::Map;
use crate::walls::proof::{self, LAND, Place, Proof};
use serde::Serialize;

/// What [`PartThinnest::how`] says where nothing thinner was missed.
pub const PROVED: &str = "proved";
/// And where the search ended before that was known.
pub const ENDED: &str = "ended at its limit of work";

/// Thinnest place over the whole part, proved on the exact solid.
#[derive(Clone, Debug, Serialize)]
pub struct PartThinnest {
    /// `proved`: nothing thinner was missed, the land of sharp edges apart; else the lower bound is what was proved when the
    /// search ended at its limit of work.
    pub how: &'static str,
    /// Largest angle between a chord and the normals at its ends.
    pub delta_deg: f64,
    /// The place.
    #[serde(flatten)]
    pub place: ThinPlace,
    /// Other pairs of faces that may hold the thinnest place, within the interval.
    pub as_thin: Vec<[String; 2]>,
    /// Metal this near to an edge or corner that opposes itself is not counted as wall.
    pub land_mm: f64,
    /// Such corners and edges: the first point of each.
    pub sharp: Vec<[f64; 3]>,
    /// Parameters that move its faces.
    pub change: Vec<&'static str>,
}

/// What there is to ask of a part's walls.
pub struct Asked<'a> {
    /// Places wanted.
    pub count: usize,
    /// Work after which the search ends.
    pub work: usize,
    /// State of the metal, which limits depend on.
    pub state: State,
    /// The trade's tables as the maker has them.
    pub own: &'a Own,
    /// Names the parameters that move two faces.
    pub movers: &'a dyn Fn(&[String; 2]) -> Vec<&'static str>,
    /// Map for the extent of each place.
    pub map: Option<&'a Map>,
}

/// The thinnest place of a solid and the list that it heads: one place for each pair of kinds of faces, so that a wall and
/// its likes at the other ends and sides count once. `None` if no two faces oppose each other, or if the solid cannot be
/// meshed finely enough.
#[must_use]
pub fn thin_places(solid: &Solid, asked: &Asked<'_>) -> Option<(PartThinnest, Vec<WallPlace>)> {
    let kinds: Vec<String> = solid.faces.iter().map(|f| kind(&f.name)).collect();
    let group = |k: &String| kinds.iter().position(|x| x == k).and_then(|i| u32::try_from(i).ok());
    let groups: Vec<u32> = kinds.iter().map(|k| group(k).unwrap_or(0)).collect();
    let (proof, found) = places_of(solid, &groups, asked)?;
    let name = |f: u32| solid.faces.get(f as usize).map_or_else(String::new, |f| f.name.clone());
    let places: Vec<WallPlace> = found
        .iter()
        .enumerate()
        .map(|(i, p)| {
            let mut place = ThinPlace::of(p, &name);
            if i == 0 {
                // The bound of the whole part is the bound of its thinnest place.
                place.lower_mm = place.lower_mm.min(proof.lower.get());
            }
            let limit = wall_class(&place.between[0], &place.between[1]).map(|l| {
                let (least, state, source) = asked.own.wall(l, asked.state);
                PlaceLimit::of(&place, l.class, least, state, source)
            });
            let alike = p.faces.map(|f| groups.get(f as usize).copied());
            let (groups, alike) = (&groups, &alike);
            let of = |k: usize| move |f: u32| groups.get(f as usize).copied() == alike[k];
            let extent = asked
                .map
                .map(|m| PlaceExtent::of(m, &place, limit.as_ref().map(|l| l.least_mm), [&of(0), &of(1)]));
            let change = (asked.movers)(&place.between);
            WallPlace { words: [0, 1].map(|k| words(&place.between[k])), limit, extent, change, place }
        })
        .collect();
    let first = places.first()?;
    let mut sharp: Vec<[f64; 3]> = proof.sharp.iter().map(|s| [s[0].x, s[0].y, s[0].z]).collect();
    sharp.dedup();
    let open = proof.undecided.iter().filter(|u| u.lower.get() < first.place.value_mm);
    let top = PartThinnest {
        how: if proof.ended { ENDED } else { PROVED },
        delta_deg: DELTA_WEAR.get(),
        place: first.place.clone(),
        as_thin: open.map(|u| u.faces.map(name)).collect(),
        land_mm: LAND,
        sharp,
        change: first.change.clone(),
    };
    Some((top, places))
}

/// What is proved, and as many places as are asked for, each kind once.
fn places_of(solid: &Solid, groups: &[u32], asked: &Asked<'_>) -> Option<(Proof, Vec<Place>)> {
    let mut count = asked.count;
    loop {
        let proof = proof::of_part_within(solid, DELTA_WEAR, count, groups, asked.work)?;
        let places = once_a_kind(&proof.places, groups);
        // Fewer than were looked for: there are no more.
        if places.len() >= asked.count || proof.places.len() < count {
            return Some((proof, places));
        }
        count += asked.count - places.len();
    }
}

/// Places without those of a kind told before: a chord that was polished may have come to lie between faces of another kind
/// than it was found for. What is proved of both is proved of the one that stays.
fn once_a_kind(all: &[Place], groups: &[u32]) -> Vec<Place> {
    let alike = |p: &Place| {
        let mut of = p.faces.map(|f| groups.get(f as usize).copied());
        of.sort_unstable();
        of
    };
    let mut out: Vec<Place> = Vec::with_capacity(all.len());
    for p in all {
        match out.iter_mut().find(|q| alike(q) == alike(p)) {
            Some(q) => q.interval.lower = Mm(q.interval.lower.get().min(p.interval.lower.get())),
            None => out.push(*p),
        }
    }
    out
}
