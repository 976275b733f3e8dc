//! Every rule, one item each.

use super::{Finding, Limits, Rule, RuleVerdict, Severity};
use crate::params::numbers::Numbers;
use crate::params::table::{Key as K, Part};
use crate::trade::limits::{self, State, WallLimit};
use crate::trade::metals::METALS;
use crate::trade::stones::round_carat;
use crate::units::Mm;
use Severity::{Note, Refuse};

const PROPOSAL: &str = "proposal, no published source";
const HABIT: &str = "common practice, no published source";

fn least(x: f64) -> Limits {
    Limits { least: Some(x), most: None }
}
fn most(x: f64) -> Limits {
    Limits { least: None, most: Some(x) }
}
fn within(a: f64, b: f64) -> Limits {
    Limits { least: Some(a), most: Some(b) }
}
fn wall(w: &WallLimit, s: State) -> Limits {
    least(w.at(s).0.get())
}

macro_rules! rules {
    ($( $id:literal $part:ident $sev:ident $unit:literal $title:literal, $value:expr, $limits:expr, $reason:literal, $source:expr, [$($key:ident),*]; )*) => {
        /// Every rule that is judged from the numbers of a design.
        pub(in super::super) const RULES: &[Rule] = &[$( Rule {
            id: $id, title: $title, part: Part::$part, severity: $sev, unit: $unit, value: $value, limits: $limits,
            reason: $reason, source: $source, keys: &[$(K::$key),*],
        } ),*];
    };
}

rules! {
    "wall.skin" Any Refuse "mm" "wall of the collet", |v, _| Some(v[K::Wall]), |_, _, s| wall(&limits::COLLET_SKIN, s),
        "thinner skins cave in under the setter and wear through", HABIT, [Wall];
    "wall.rim_land" Any Refuse "mm" "flat land of the rim", |v, _| Some(v[K::RimLand]), |_, _, s| wall(&limits::RIM_LAND, s),
        "a knife edge at the rim chips and catches", PROPOSAL, [RimLand];
    "wall.over_opening" Any Refuse "mm" "metal over the opening", |_, d| Some(d.over_opening.get()), |_, _, s| wall(&limits::OVER_OPENING, s),
        "the rim carries the claws and the stone", PROPOSAL, [OpeningTop, Height, RimLand];
    "wall.end_metal" Any Refuse "mm" "end metal beside the opening",
        |_, d| (d.end_metal_top.get() > 0.0).then(|| d.end_metal.get()), |_, _, s| wall(&limits::BESIDE_OPENING, s),
        "it carries the joint; where the opening runs through to the claw nothing is asked", PROPOSAL, [OpeningWidth, OpeningStop, FootHalfWidth];
    "web.height" Loop Refuse "mm" "height of the web", |v, _| Some(v[K::WebHeight]), |_, _, s| wall(&limits::WEB_HEIGHT, s),
        "the wire hangs on it and wears it", PROPOSAL, [WebHeight];
    "web.depth" Loop Refuse "mm" "depth of the web", |_, d| Some(d.web_depth.get()), |_, _, s| wall(&limits::WEB_DEPTH, s),
        "the wire hangs on it and wears it", PROPOSAL, [Wall];
    "bore.crown" Loop Refuse "mm" "metal over the bore", |_, d| Some(d.crown_over_bore.get()), |_, _, s| wall(&limits::CROWN, s),
        "the seat is cut into it", PROPOSAL, [BoreHeight, Height, WebHeight];
    "bore.beside" Loop Refuse "mm" "metal beside the bore", |_, d| Some(d.beside_bore.get()), |_, _, s| wall(&limits::BESIDE_BORE, s),
        "it carries the pull of the line", PROPOSAL, [OpeningStop, BoreWidth];
    "claw.wire" Any Refuse "mm" "claw wire", |v, _| Some(v[K::ClawDiameter]), |_, _, s| wall(&limits::CLAW, s),
        "thinner claws open", HABIT, [ClawDiameter];
    "claw.bite" Any Refuse "" "share of the claw cut away for the stone", |_, d| Some(d.bite_share), |_, _, _| most(0.50),
        "less than half of the claw would stand behind the girdle", HABIT, [ClawDiameter, Width];
    "claw.bite_usual" Any Note "" "share of the claw cut away for the stone, as usual", |_, d| Some(d.bite_share), |_, _, _| within(0.20, 0.40),
        "a quarter to a third is cut at the bench", HABIT, [ClawDiameter, Width];
    "opening.rail" Any Refuse "mm" "lower rail under the opening", |v, _| Some(v[K::OpeningBottom]), |_, _, _| least(0.60),
        "it is the foot of the link", PROPOSAL, [OpeningBottom];
    "opening.bur" Any Refuse "mm" "height of the opening", |v, _| Some(v[K::OpeningTop] - v[K::OpeningBottom]), |v, _, _| least(v[K::OpeningBur]),
        "the parallel bur must fit into it", HABIT, [OpeningBur, OpeningTop, OpeningBottom];
    "claw.foot" Any Refuse "mm" "height at which the claws begin", |_, d| Some(d.claw_foot.get()), |_, d, _| least(d.joint_height.get()),
        "a claw that reaches below the joint stops the link from bending", PROPOSAL, [FootHalfWidth, ClawDiameter];
    "gap.least" Any Refuse "mm" "gap between the settings", |v, _| Some(v[K::Gap]), |_, _, _| least(0.08),
        "a tighter line binds", HABIT, [Gap, Count];
    "gap.most" Any Note "mm" "gap between the settings, as usual", |v, _| Some(v[K::Gap]), |_, _, _| most(0.20),
        "a wider gap shows the joint", HABIT, [Gap, Count];
    "joint.wire_play" Loop Refuse "mm" "bore width over the wire", |v, _| Some(v[K::BoreWidth] - v[K::Wire]), |_, _, _| within(0.04, 0.08),
        "less binds, more lets the line twist", PROPOSAL, [BoreWidth, Wire];
    "joint.leg_in_groove" Loop Refuse "mm" "groove width over the hammered leg", |v, d| Some(v[K::GrooveWidth] - d.flat_width.get()), |_, _, _| least(0.05),
        "the leg spreads when it is hammered home", PROPOSAL, [GrooveWidth, WireFlat];
    "joint.leg_through_bore" Loop Refuse "mm" "bore width over the hammered leg", |v, d| Some(v[K::BoreWidth] - d.flat_width.get()), |_, _, _| least(0.03),
        "the flattened leg is passed through both bores", PROPOSAL, [WireFlat, BoreWidth];
    "joint.flush" Loop Note "mm" "groove depth over the hammered leg", |v, _| Some(v[K::GrooveDepth] - v[K::WireFlat]), |_, _, _| within(0.0, 0.05),
        "the leg lies flush: proud it scratches, deep it collects dirt", PROPOSAL, [GrooveDepth, WireFlat];
    "turn.wrist" Loop Refuse "deg" "inward turn of a joint", |_, d| Some(d.turn_inward.get()), |_, d, _| least(d.turn_wrist.get() + 3.0),
        "the line must lie round the wrist, with 3 degrees in hand", "closed form of a bar turning in the loop; margin is a proposal", [BoreHeight, WebEdge, GrooveDepth];
    "turn.clasp" Loop Note "deg" "inward turn beside the stiff clasp", |_, d| Some(d.turn_inward.get()),
        |_, d, _| least(d.turn_clasp.map_or(180.0, |t| t.get())),
        "a clasp is straight; the joints beside it make up for it", "closed form of the chord of a circle", [ClaspCount, BoreHeight, WebEdge];
    "turn.back" Any Note "deg" "outward turn until claw meets claw", |_, d| Some(d.turn_outward.get()), |_, _, _| within(0.01, 10.0),
        "a line that folds back far kinks the joints", PROPOSAL, [Gap];
    "stone.wire" Loop Refuse "mm" "wire to pavilion", |_, d| Some(d.wire_to_stone.get()), |_, _, _| least(0.10),
        "a wire that touches the stone chips it", PROPOSAL, [Height, Wire, FootHalfWidth];
    "joint.loops" Loop Refuse "mm" "half the room between the two loops of a link", |_, d| Some(d.loop_to_middle.get()), |_, _, _| least(0.10),
        "two wires share the inside of one collet", PROPOSAL, [Wire, Wall];
    "stone.culet" Any Refuse "mm" "culet over the skin", |_, d| Some(d.culet.get()), |_, _, _| least(0.60),
        "a stone that reaches the skin scratches it and is worn", HABIT, [Height];
    "line.ease" Any Note "mm" "ease between wrist and bracelet", |_, d| Some(d.ease.get()), |_, _, _| within(10.0, 18.0),
        "tighter pinches, looser turns over", HABIT, [Count, Gap];
    "stone.weight" Any Note "" "weight of a stone over the weight by formula",
        |v, _| Some(v[K::Carat] / round_carat(Mm(v[K::Diameter]))), |_, _, _| within(0.85, 1.15),
        "a weight that far off is a misprint or another cut", "0.0061 d^3 x 0.60 x 1.03, gemgate.com, gemfacts.com", [Carat, Diameter];
    "stone.girdles" Any Refuse "mm" "gap between the largest stones", |_, d| Some(d.girdle_gap.get()), |_, _, _| least(0.05),
        "girdle on girdle chips", PROPOSAL, [Gap, Width, StoneTolerance];
    "stone.stop" Any Note "mm" "setting width over the largest stone", |_, d| Some(d.stone_inset.get()), |_, _, _| least(0.05),
        "else the stones, not the metal, stop the line from folding back", PROPOSAL, [Width];
    "corner.wall" Square Refuse "mm" "wall across a corner", |_, d| Some(d.corner_wall.get()), |_, _, s| wall(&limits::CORNER_WALL, s),
        "corners take the knocks", PROPOSAL, [InnerCornerRadius, CornerRadius, Wall];
    "corner.usual" Square Note "" "corner radius as a share of the width", |v, _| Some(v[K::CornerRadius] / v[K::Width]),
        |v, _, _| if v[K::Shape] > 1.0 { within(0.10, 0.25) } else { most(0.15) },
        "sharper is a square, rounder a cushion, rounder still a round collet", PROPOSAL, [CornerRadius, Width];
    "tube.wall" Tube Refuse "mm" "wall of the hinge tube", |_, d| Some(d.tube_wall.get()), |_, _, s| wall(&limits::TUBE_WALL, s),
        "it wears from inside", HABIT, [TubeOuter, TubeBore, Pin];
    "tube.pin_play" Tube Refuse "mm" "bore over the pin", |v, _| Some(v[K::TubeBore] - v[K::Pin]), |_, _, _| within(0.03, 0.08),
        "less binds, more lets the line twist", PROPOSAL, [TubeBore, Pin];
    "tube.bead_rim" Tube Refuse "mm" "rim round the pin bead", |_, d| Some(d.bead_rim.get()), |_, _, _| least(0.20),
        "a thinner rim splits under the hammer", HABIT, [TubeOuter, Pin, TubeBore];
    "tube.behind_cup" Tube Refuse "mm" "knuckle left behind the bead's cup", |_, d| Some(d.behind_cup.get()), |_, _, _| least(0.15),
        "the bead must not pull through", PROPOSAL, [TubeLength, OuterShare, Pin];
    "tube.let_in" Tube Refuse "mm" "depth the tube is let into the end", |_, d| Some(d.tube_let_in.get()), |_, _, _| least(0.15),
        "a knuckle that hangs on a line of metal breaks off", PROPOSAL, [TubeOuter, FootHalfWidth, BlockHalfWidth, Gap];
    "tube.row" Tube Note "mm" "end of the row of knuckles over the flat end", |v, d| Some(v[K::TubeLength] / 2.0 - d.flat_end.get() - v[K::CornerRadius] / 2.0),
        |_, _, _| most(0.0), "knuckles beyond the corner stand free and catch", PROPOSAL, [TubeLength, CornerRadius];
    "tube.side_gap" Tube Note "mm" "gap between two knuckles", |v, _| Some(v[K::SideGap]), |_, _, _| within(0.03, 0.08),
        "less binds with polish, more lets the line twist", PROPOSAL, [SideGap];
    "pocket.gap" Tube Note "mm" "gap between knuckle and pocket", |v, _| Some(v[K::PocketClearance]), |_, _, _| within(0.04, 0.10),
        "less rubs, more costs metal behind the pocket", PROPOSAL, [PocketClearance];
    "pocket.behind" Tube Refuse "mm" "metal between pocket and light hole", |_, d| Some(d.behind_pocket.get()), |_, _, s| wall(&limits::BEHIND_POCKET, s),
        "it carries the pull of the line", PROPOSAL, [LightHole, Gap, TubeOuter, PocketClearance];
    "pocket.over" Tube Refuse "mm" "metal between pocket and opening", |_, d| Some(d.over_pocket.get()), |_, _, s| wall(&limits::ABOVE_POCKET, s),
        "it is the rail under the opening", PROPOSAL, [OpeningBottom, OpeningWidth, TubeHeight, TubeOuter];
    "pocket.over_fill" Tube Refuse "mm" "wall behind the pocket over the solid foot",
        |_, d| d.over_fill.get().is_finite().then(|| d.over_fill.get()), |_, _, s| wall(&limits::COLLET_SKIN, s),
        "the pocket is cut into the wall from outside", HABIT, [FootFill, FootHalfWidth, OpeningBottom, Wall];
    "stone.floor" Tube Refuse "mm" "culet over the solid foot", |_, d| Some(d.culet_over_fill.get()), |_, _, _| least(0.05),
        "a stone that rests on its culet chips and rocks", HABIT, [FootFill, Height];
    "turn.wrist_hinge" Tube Refuse "deg" "inward turn of a hinge", |_, d| Some(d.turn_inward.get()), |_, d, _| least(d.turn_wrist.get() + 3.0),
        "the line must lie round the wrist, with 3 degrees in hand", "closed form of two feet meeting; margin is a proposal", [FootHalfWidth, BlockHalfWidth, Gap, TubeHeight];
    "turn.clasp_hinge" Tube Note "deg" "inward turn beside the stiff clasp", |_, d| Some(d.turn_inward.get()),
        |_, d, _| least(d.turn_clasp.map_or(180.0, |t| t.get())),
        "a clasp is straight; the joints beside it make up for it", "closed form of the chord of a circle", [ClaspCount, FootHalfWidth, BlockHalfWidth];
    "opening.edge" Any Note "deg" "edge between opening and skin", |_, d| Some(d.opening_edge.get()), |_, _, _| least(limits::EDGE.get()),
        "a sharper edge cuts; break every edge 0.05 to 0.10", PROPOSAL, [OpeningWidth];
}

/// Nickel-white alloys on the skin: only a release test can tell.
pub(super) fn nickel(v: &Numbers) -> Option<Finding> {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let metal = METALS.get(v[K::Alloy] as usize)?;
    metal.nickel_white.then(|| Finding {
        rule: "metal.nickel",
        title: "nickel on the skin",
        severity: Note,
        verdict: RuleVerdict::Unverified(
            "needs an EN 1811 release test of the finished piece; plating does not lift it".into(),
        ),
        value: 0.0,
        unit: "",
        least: None,
        most: None,
        reason: "nickel allergy: at most 0.5 micrograms per square centimetre and week (EU REACH, annex XVII, entry 27)",
        source: "EN 1811; REACH annex XVII entry 27",
        parameters: vec![K::Alloy.path()],
        change: Some("choose an alloy without nickel".into()),
    })
}
