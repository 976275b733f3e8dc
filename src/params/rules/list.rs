//! Every rule, one item each.

use super::{Finding, Limits, Rule, RuleVerdict, Severity};
use crate::params::choice::Shape;
use crate::params::dims::{Dims, HingeDims, WireDims};
use crate::params::numbers::Numbers;
use crate::params::table::Key as K;
use crate::trade::limits::{self, Source, State, WallLimit};
use crate::trade::metals::METALS;
use crate::trade::stones::round_carat;
use crate::units::Mm;
use Severity::{Note, Refuse};

pub(super) const PROPOSAL: &str = "proposal, no published source";
pub(super) const HABIT: &str = "common practice, no published source";

fn wire(d: &Dims) -> Option<&WireDims> {
    d.wire.as_ref()
}
fn hinge(d: &Dims) -> Option<&HingeDims> {
    d.hinge.as_ref()
}
/// The smallest and largest corner radius of a shape, as shares of the width: rounder than a square is a cushion.
fn corner_share(s: Shape) -> Limits {
    match s {
        Shape::Square => most(0.15),
        Shape::Cushion => within(0.10, 0.25),
        Shape::Round => Limits::default(),
    }
}
pub(super) fn least(x: f64) -> Limits {
    Limits { least: Some(x), ..Limits::default() }
}
pub(super) fn most(x: f64) -> Limits {
    Limits { most: Some(x), ..Limits::default() }
}
pub(super) fn within(a: f64, b: f64) -> Limits {
    Limits { least: Some(a), most: Some(b), own: false }
}
/// The limit of a class of wall, from the trade's table or the maker's own.
pub(super) fn wall(v: &Numbers, w: &WallLimit, s: State) -> Limits {
    let (least, _, source) = v.own().wall(w, s);
    Limits { least: Some(least.get()), most: None, own: source == Source::BenchFile }
}

/// Sharpest edge beside an opening.
fn edge(v: &Numbers) -> Limits {
    let own = v.own().get("edges", "beside an opening", "least");
    Limits { own: own.is_some(), ..least(own.unwrap_or(limits::EDGE.get())) }
}

macro_rules! rules {
    (@range) => { |_| None };
    (@range $range:expr) => { $range };
    ($( $id:literal $sev:ident $unit:literal $title:literal, $value:expr, $limits:expr, $reason:literal, $source:expr, [$($key:ident),*] $(, range $range:expr)?; )*) => {
        /// Every rule that is judged from the numbers of a design.
        pub(in super::super) const RULES: &[Rule] = &[$( Rule {
            id: $id, title: $title, severity: $sev, unit: $unit, value: $value, limits: $limits,
            range: rules!(@range $($range)?), reason: $reason, source: $source, keys: &[$($crate::params::table::Key::$key),*],
        } ),*];
    };
}
pub(super) use rules;

rules! {
    "wall.skin" Refuse "mm" "wall of the collet", |v, _| Some(v[K::Wall]), |v, _, s| wall(v, &limits::COLLET_SKIN, s),
        "thinner skins cave in under the setter and wear through", HABIT, [Wall];
    "wall.corner" Refuse "mm" "wall on the diagonal of a corner", |_, d| d.corner_wall.map(Mm::get), |v, _, s| wall(v, &limits::CORNER, s).over(v[K::Wall]),
        "a corner thinner than the wall is the first to wear through", PROPOSAL, [InnerCornerRadius, CornerRadius, Wall];
    "corner.shape" Refuse "" "corner radius as a share of the setting width", |v, d| d.shape.is_flat().then(|| v[K::CornerRadius] / v[K::Width]), |_, d, _| corner_share(d.shape),
        "up to 0.15 it is a square, from 0.10 to 0.25 a cushion", PROPOSAL, [CornerRadius, Width];
    "wall.rim_land" Refuse "mm" "flat land of the rim", |v, _| Some(v[K::RimLand]), |v, _, s| wall(v, &limits::RIM_LAND, s),
        "a knife edge at the rim chips and catches", PROPOSAL, [RimLand];
    "wall.over_opening" Refuse "mm" "metal over the opening", |_, d| Some(d.over_opening.get()), |v, _, s| wall(v, &limits::OVER_OPENING, s),
        "the rim carries the claws and the stone", PROPOSAL, [OpeningTop, Height, RimLand];
    "wall.end_metal" Refuse "mm" "end metal beside the opening",
        |_, d| (d.end_metal_top.get() > 0.0).then(|| d.end_metal.get()), |v, _, s| wall(v, &limits::BESIDE_OPENING, s),
        "it carries the joint; where the opening runs through to the claw nothing is asked", PROPOSAL, [OpeningWidth, OpeningStop, FootHalfWidth];
    "web.height" Refuse "mm" "height of the web", |v, d| wire(d).map(|_| v[K::WebHeight]), |v, _, s| wall(v, &limits::WEB_HEIGHT, s),
        "the wire hangs on it and wears it", PROPOSAL, [WebHeight];
    "web.depth" Refuse "mm" "depth of the web", |_, d| wire(d).map(|w| w.web_depth.get()), |v, _, s| wall(v, &limits::WEB_DEPTH, s),
        "the wire hangs on it and wears it", PROPOSAL, [Wall];
    "bore.crown" Refuse "mm" "metal over the bore", |_, d| wire(d).map(|w| w.crown_over_bore.get()), |v, _, s| wall(v, &limits::CROWN, s),
        "the seat is cut into it", PROPOSAL, [BoreHeight, Height, WebHeight];
    "bore.beside" Refuse "mm" "metal beside the bore", |_, d| wire(d).map(|w| w.beside_bore.get()), |v, _, s| wall(v, &limits::BESIDE_BORE, s),
        "it carries the pull of the line", PROPOSAL, [OpeningStop, BoreWidth];
    "claw.wire" Refuse "mm" "claw wire", |v, _| Some(v[K::ClawDiameter]), |v, _, s| wall(v, &limits::CLAW, s),
        "thinner claws open", HABIT, [ClawDiameter];
    "claw.bite" Refuse "" "share of the claw cut away for the stone", |_, d| Some(d.bite_share), |_, _, _| most(0.50),
        "less than half of the claw would stand behind the girdle", HABIT, [ClawDiameter, Width];
    "claw.bite_usual" Note "" "share of the claw cut away for the stone, as usual", |_, d| Some(d.bite_share), |_, _, _| within(0.20, 0.40),
        "a quarter to a third is cut at the bench", HABIT, [ClawDiameter, Width];
    "opening.rail" Refuse "mm" "lower rail under the opening", |v, _| Some(v[K::OpeningBottom]), |_, _, _| least(0.60),
        "it is the foot of the link", PROPOSAL, [OpeningBottom];
    "opening.through_claw" Refuse "mm" "claw foot over the floor of an opening that runs through to the claw",
        |v, d| (d.end_metal_top.get() <= 0.0).then(|| d.claw_foot.get() - v[K::OpeningBottom]), |_, _, _| most(0.0),
        "the claw would hang over the opening, held at its upper end only", PROPOSAL, [OpeningWidth, OpeningBottom, ClawDiameter, FootHalfWidth];
    "opening.bur" Refuse "mm" "height of the opening", |v, _| Some(v[K::OpeningTop] - v[K::OpeningBottom]), |v, _, _| least(v[K::OpeningBur]),
        "the parallel bur must fit into it", HABIT, [OpeningBur, OpeningTop, OpeningBottom];
    "claw.foot" Refuse "mm" "height at which the claws begin", |_, d| Some(d.claw_foot.get()), |_, d, _| least(d.joint_height.get()),
        "a claw that reaches below the joint stops the link from bending", PROPOSAL, [FootHalfWidth, ClawDiameter];
    "gap.least" Refuse "mm" "gap between the settings", |v, _| Some(v[K::Gap]), |_, _, _| least(0.08),
        "a tighter line binds", HABIT, [Gap, Count];
    "gap.most" Note "mm" "gap between the settings, as usual", |v, _| Some(v[K::Gap]), |_, _, _| most(0.20),
        "a wider gap shows the joint", HABIT, [Gap, Count];
    "joint.wire_play" Refuse "mm" "bore width over the wire", |v, d| wire(d).map(|_| v[K::BoreWidth] - v[K::Wire]), |_, _, _| within(0.04, 0.08),
        "less binds, more lets the line twist", PROPOSAL, [BoreWidth, Wire];
    "joint.leg_in_groove" Refuse "mm" "groove width over the hammered leg", |v, d| wire(d).map(|w| v[K::GrooveWidth] - w.flat_width.get()), |_, _, _| least(0.05),
        "the leg spreads when it is hammered home", PROPOSAL, [GrooveWidth, WireFlat];
    "joint.leg_through_bore" Refuse "mm" "bore width over the hammered leg", |v, d| wire(d).map(|w| v[K::BoreWidth] - w.flat_width.get()), |_, _, _| least(0.03),
        "the flattened leg is passed through both bores", PROPOSAL, [WireFlat, BoreWidth];
    "joint.flush" Note "mm" "groove depth over the hammered leg", |v, d| wire(d).map(|_| v[K::GrooveDepth] - v[K::WireFlat]), |_, _, _| within(0.0, 0.05),
        "the leg lies flush: proud it scratches, deep it collects dirt", PROPOSAL, [GrooveDepth, WireFlat];
    "turn.wrist" Refuse "deg" "inward turn of a joint", |_, d| Some(d.turn_inward.get()), |_, d, _| least(d.turn_wrist.get() + 3.0),
        "the line must lie round the wrist, with 3 degrees in hand", "closed form of a bar turning in the loop; margin is a proposal", [BoreHeight, WebEdge, GrooveDepth, FootHalfWidth, BlockHalfWidth, TubeHeight];
    "turn.clasp" Note "deg" "inward turn beside the stiff clasp", |_, d| Some(d.turn_inward.get()),
        |_, d, _| least(d.turn_clasp.map_or(180.0, |t| t.get())),
        "a clasp is straight; the joints beside it make up for it", "closed form of the chord of a circle", [ClaspCount, BoreHeight, WebEdge, FootHalfWidth, BlockHalfWidth];
    "turn.back" Note "deg" "outward turn until claw meets claw", |_, d| Some(d.turn_outward.get()), |_, _, _| within(0.01, 10.0),
        "a line that folds back far kinks the joints", PROPOSAL, [Gap];
    "hinge.tube_wall" Refuse "mm" "wall of the hinge tube", |_, d| hinge(d).map(|h| h.tube_wall.get()), |v, _, s| wall(v, &limits::TUBE, s),
        "thinner tube wears through and opens", HABIT, [TubeOuter, TubeBore, Pin];
    "hinge.pin_play" Refuse "mm" "bore over the pin", |_, d| hinge(d).map(|h| h.pin_play.get()), |_, _, _| within(0.03, 0.08),
        "less binds, more lets the line rattle", PROPOSAL, [TubeBore, Pin];
    "hinge.rim" Refuse "mm" "rim of tube round the pin bead", |_, d| hinge(d).map(|h| h.recess_rim.get()), |v, _, s| wall(v, &limits::RECESS_RIM, s),
        "a thinner rim splits under the hammer", HABIT, [TubeOuter, Pin, TubeBore];
    "hinge.behind_bead" Refuse "mm" "outer knuckle left behind the pin bead", |_, d| hinge(d).map(|h| h.behind_recess.get()), |v, _, s| wall(v, &limits::BEHIND_RECESS, s),
        "the bead would pull through", PROPOSAL, [TubeLength, OuterShare, Pin];
    "hinge.let_in" Refuse "mm" "tube let into its end wall", |_, d| hinge(d).map(|h| h.let_in.get()), |_, _, _| least(0.15),
        "a tube that only leans on the wall breaks off", PROPOSAL, [FootHalfWidth, BlockHalfWidth, TubeOuter];
    "hinge.behind_pocket" Refuse "mm" "metal between pocket and light hole", |_, d| hinge(d).map(|h| h.behind_pocket.get()), |v, _, s| wall(v, &limits::BEHIND_POCKET, s),
        "it carries the pull of the line", PROPOSAL, [LightHole, TubeOuter, Gap, Width];
    "hinge.pocket_opening" Refuse "mm" "metal between pocket and opening", |_, d| hinge(d).map(|h| h.pocket_to_opening.get()), |v, _, s| wall(v, &limits::POCKET_TO_OPENING, s),
        "the end wall hangs on it", PROPOSAL, [OpeningBottom, OpeningWidth, OpeningStop, TubeOuter, TubeHeight];
    "hinge.pocket_inside" Refuse "mm" "metal between pocket and inside", |_, d| hinge(d).map(|h| h.pocket_to_inside.get()), |v, _, s| wall(v, &limits::POCKET_TO_INSIDE, s),
        "thinner it may not fill in the mould, and the polisher goes through", PROPOSAL, [FootFill, OpeningBottom, TubeOuter, TubeHeight, Wall];
    "hinge.block_top" Refuse "mm" "foot block over the pocket", |_, d| hinge(d).and_then(|h| h.under_block_top).map(Mm::get), |v, _, s| wall(v, &limits::UNDER_BLOCK_TOP, s),
        "thinner it caves in", PROPOSAL, [FootFill, OpeningBottom, TubeOuter, TubeHeight];
    "hinge.tube_on_flat" Note "mm" "length of the row of knuckles", |v, d| hinge(d).map(|_| v[K::TubeLength]),
        |v, d, _| hinge(d).map_or(most(f64::MAX), |h| most(2.0 * (h.end_face.get() - v[K::CornerRadius] / 2.0))),
        "a longer row hangs over the rounded corners", PROPOSAL, [TubeLength, CornerRadius];
    "hinge.clearance" Refuse "mm" "clearance between knuckle and pocket", |v, d| hinge(d).map(|_| v[K::PocketClearance]), |_, _, _| least(0.04),
        "less binds when the link is polished", PROPOSAL, [PocketClearance];
    "hinge.clearance_usual" Note "mm" "clearance between knuckle and pocket, as usual", |v, d| hinge(d).map(|_| v[K::PocketClearance]), |_, _, _| most(0.10),
        "more shows and collects dirt", PROPOSAL, [PocketClearance];
    "hinge.side_gap" Refuse "mm" "gap between knuckles", |v, d| hinge(d).map(|_| v[K::SideGap]), |_, _, _| least(0.03),
        "less binds", PROPOSAL, [SideGap];
    "hinge.side_gap_usual" Note "mm" "gap between knuckles, as usual", |v, d| hinge(d).map(|_| v[K::SideGap]), |_, _, _| most(0.08),
        "more lets the line twist", PROPOSAL, [SideGap];
    "stone.fill" Refuse "mm" "filled foot to pavilion", |_, d| hinge(d).map(|h| h.fill_to_stone.get()), |_, _, _| least(0.10),
        "a foot that touches the stone chips it", PROPOSAL, [Height, FootFill, LightHole, OpeningBottom];
    "stone.wire" Refuse "mm" "wire to pavilion", |_, d| wire(d).map(|w| w.wire_to_stone.get()), |_, _, _| least(0.10),
        "a wire that touches the stone chips it", PROPOSAL, [Height, Wire, FootHalfWidth];
    "joint.loops" Refuse "mm" "half the room between the two loops of a link", |_, d| wire(d).map(|w| w.loop_to_middle.get()), |_, _, _| least(0.10),
        "two wires share the inside of one collet", PROPOSAL, [Wire, Wall];
    "stone.culet" Refuse "mm" "culet over the skin", |_, d| Some(d.culet.get()), |_, _, _| least(0.60),
        "a stone that reaches the skin scratches it and is worn", HABIT, [Height];
    "line.ease" Note "mm" "ease between wrist and bracelet", |_, d| Some(d.ease.get()), |_, _, _| within(10.0, 18.0),
        "tighter pinches, looser turns over", HABIT, [Count, Gap];
    "stone.weight" Note "" "weight of a stone over the weight by formula",
        |v, _| Some(v[K::Carat] / round_carat(Mm(v[K::Diameter]))), |_, _, _| within(0.85, 1.15),
        "a weight that far off is a misprint or another cut", "0.0061 d^3 x 0.60 x 1.03, gemgate.com, gemfacts.com", [Carat, Diameter];
    "stone.girdles" Refuse "mm" "gap between the largest stones", |_, d| Some(d.girdle_gap.get()), |_, _, _| least(0.05),
        "girdle on girdle chips", PROPOSAL, [Gap, Width, StoneTolerance];
    "stone.stop" Note "mm" "setting width over the largest stone", |_, d| Some(d.stone_inset.get()), |_, _, _| least(0.05),
        "else the stones, not the metal, stop the line from folding back", PROPOSAL, [Width];
    "opening.edge" Note "deg" "edge between opening and skin", |_, d| Some(d.opening_edge.get()), |v, _, _| edge(v),
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
        range: None,
        unit: "",
        least: None,
        most: None,
        reason: "nickel allergy: at most 0.5 micrograms per square centimetre and week (EU REACH, annex XVII, entry 27)",
        source: "EN 1811; REACH annex XVII entry 27",
        parameters: vec![K::Alloy.path()],
        change: Some("choose an alloy without nickel".into()),
    })
}
