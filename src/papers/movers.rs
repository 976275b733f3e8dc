//! Which parameters move the faces of a wall.

use crate::parts::link::{kind, of_setting};

type Row = (&'static str, &'static [&'static str]);

/// Words in the names of a link's faces.
const LINK: [Row; 11] = [
    ("opening", &["opening.width", "opening.stop", "opening.bur"]),
    ("pocket", &["joint.pocket_clearance", "joint.tube_outer"]),
    ("knuckle", &["joint.tube_length", "joint.tube_outer"]),
    ("block", &["collet.block_half_width", "collet.corner_radius"]),
    ("foot", &["collet.foot_fill", "collet.light_hole"]),
    ("collet.corner", &["collet.corner_radius"]),
    ("claw", &["claw.diameter", "collet.foot_half_width"]),
    ("seat", &["seat.rim_land"]),
    ("web", &["joint.web_edge", "joint.web_height"]),
    ("bore", &["joint.bore_width", "joint.bore_height"]),
    ("groove", &["joint.groove_width", "joint.groove_depth"]),
];

/// Parameters that move the faces of a link that a text names.
#[must_use]
pub fn of_link(text: &str) -> Vec<&'static str> {
    let found: Vec<&str> =
        LINK.iter().filter(|(w, _)| text.contains(w)).flat_map(|(_, p)| p.iter().copied()).collect();
    if found.is_empty() { vec!["collet.wall", "collet.height"] } else { found }
}

/// First words of the kinds of faces of the clasp's plate, leaf and frame, the more particular rows first. Of faces that only
/// constants of ours move there is none.
static CLASP: [Row; 34] = [
    ("plate.slot", &["clasp.tube_outer", "clasp.tube_row"]),
    ("plate.tongue", &["clasp.tube_outer", "clasp.lug"]),
    ("plate", &["clasp.plate.thickness"]),
    ("ledge.bump", &["clasp.side_catch.snap"]),
    ("ledge", &["clasp.plate.thickness"]),
    ("strip.room", &["clasp.tongue.slot", "clasp.tongue.thickness"]),
    ("tang.pocket", &["clasp.tongue.thickness", "clasp.cheek"]),
    ("foot.pocket.top", &["clasp.plate.thickness"]),
    ("foot.pocket", &["clasp.tongue.foot_width", "clasp.tongue.foot_length"]),
    ("rivet", &["clasp.tongue.rivet", "clasp.tongue.foot_width"]),
    ("eye", &["chain.jump_wire"]),
    ("lug.bore", &["joint.bore_width", "joint.tube_bore"]),
    ("lug.groove", &["joint.groove_depth", "joint.groove_width"]),
    ("lug.pocket", &["joint.pocket_clearance", "joint.tube_outer"]),
    ("lug.knuckle.end", &["joint.tube_length", "joint.side_gap"]),
    ("lug.knuckle", &["joint.tube_outer"]),
    ("lug", &["clasp.lug"]),
    ("bore", &["clasp.tube_bore"]),
    ("cup", &["clasp.pin"]),
    ("countersink", &["clasp.pin"]),
    ("knuckle.end", &["clasp.tube_row", "clasp.outer_share"]),
    ("knuckle", &["clasp.tube_outer"]),
    ("leaf.neck", &["clasp.tube_outer", "clasp.lug"]),
    ("leaf", &["clasp.leaf.thickness"]),
    ("rail.under", &["clasp.gap", "clasp.leaf.thickness"]),
    ("rail", &["clasp.rail_width"]),
    ("bar", &["clasp.tube_row", "clasp.outer_share"]),
    ("cheek", &["clasp.cheek"]),
    ("snap.hold", &["clasp.tongue.hold_angle", "clasp.tongue.snap"]),
    ("snap.lead", &["clasp.tongue.lead_angle", "clasp.tongue.snap"]),
    ("snap", &["clasp.tongue.snap", "clasp.cheek"]),
    ("room", &["clasp.tube_outer"]),
    ("tube.bore", &["clasp.side_catch.wire"]),
    ("tube", &["clasp.side_catch.tube"]),
];

/// Parameters that move one of two faces of a part of the clasp; a setting's are those of a link.
#[must_use]
pub fn of_clasp(between: &[String; 2]) -> Vec<&'static str> {
    let mut out = Vec::new();
    for name in between {
        let own = match of_setting(name) {
            Some(rest) => of_link(rest),
            None => row(name).map_or_else(Vec::new, |r| r.1.to_vec()),
        };
        out.extend(own.into_iter().filter(|p| !out.contains(p)).collect::<Vec<_>>());
    }
    out
}

fn row(name: &str) -> Option<&'static Row> {
    let kind = kind(name);
    let starts = |with: &str| kind.strip_prefix(with).is_some_and(|r| r.is_empty() || r.starts_with('.'));
    CLASP.iter().find(|(w, _)| starts(w))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::params::{Design, Key, read};
    use crate::parts::clasp::{ClaspPart, build};
    use crate::solid::Solid;
    use std::collections::{BTreeMap, BTreeSet};

    /// Files between whom every row of the table has a face, and who have not the same joint.
    const FILES: [&str; 2] = ["line-2.5-yellow", "line-3.5-rose-block"];

    fn solid(design: &Design, part: ClaspPart) -> Option<Solid> {
        build(design, part)?.ok().map(|p| p.solid)
    }

    /// What a parameter is said to move it moves: another number in its place, and the surface of a face that it is said to
    /// move is another, or the face is gone. And no face is left without a parameter.
    #[test]
    fn what_is_said_to_move_a_wall_moves_it() {
        let mut rows: BTreeSet<(&str, &str)> = BTreeSet::new();
        for file in FILES {
            let design = read(&std::fs::read_to_string(format!("params/{file}.jsonc")).unwrap()).unwrap();
            for part in [ClaspPart::Plate, ClaspPart::Leaf, ClaspPart::Frame] {
                let before = solid(&design, part).unwrap();
                let mut moved: BTreeMap<&str, Vec<(usize, &str)>> = BTreeMap::new();
                for (i, f) in before.faces.iter().enumerate().filter(|f| of_setting(&f.1.name).is_none()) {
                    let (word, paths) = row(&f.name).unwrap_or_else(|| panic!("{}", f.name));
                    paths.iter().for_each(|p| moved.entry(p).or_default().push((i, word)));
                }
                for (path, faces) in moved {
                    if faces.iter().all(|(_, word)| rows.contains(&(*word, path))) {
                        continue;
                    }
                    let key = Key::at(path).unwrap();
                    let x = design.get(key);
                    let tried =
                        [1.03, 0.97, 1.01].iter().find_map(|k| solid(&design.varied(key, k * x), part));
                    let Some(after) = tried else { continue };
                    for (i, word) in faces {
                        let f = &before.faces[i];
                        let now = after.faces.iter().find(|g| g.name == f.name);
                        if now.is_none_or(|g| !g.surface.same(&f.surface)) {
                            rows.insert((word, path));
                        }
                    }
                }
            }
        }
        let all: BTreeSet<(&str, &str)> =
            CLASP.iter().flat_map(|(w, p)| p.iter().map(move |p| (*w, *p))).collect();
        let idle: Vec<_> = all.difference(&rows).collect();
        assert!(idle.is_empty(), "{idle:?}");
    }
}
