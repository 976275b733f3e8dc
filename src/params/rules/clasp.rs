//! The rules of the folding clasp, its latch, its chain and its hallmark.

use super::list::{HABIT, PROPOSAL, least, most, rules, wall, within};
use super::{Rule, Severity, latch};
use crate::params::dims::{ChainDims, ClaspDims, Dims, SPRING};
use crate::params::table::Key as K;
use crate::trade::limits::{self, State};
use Severity::{Note, Refuse};

fn of(d: &Dims, f: impl Fn(&ClaspDims) -> f64) -> Option<f64> {
    d.clasp.as_ref().map(f)
}
fn chain(d: &Dims, f: impl Fn(&ChainDims) -> f64) -> Option<f64> {
    d.chain.as_ref().map(f)
}

rules! {
    "clasp.stones" Refuse "mm" "culet over the underside of the clasp's frame", |_, d| of(d, |c| c.culet_over_frame.get()), |_, _, _| least(0.05),
        "a stone that reaches the leaf chips when the clasp is shut", PROPOSAL, [LeafThickness, PlateThickness, Height];
    "clasp.stone_over_back" Refuse "mm" "pavilion over the back hinge", |_, d| of(d, |c| c.stone_over_back.get()), |_, _, _| least(0.08),
        "a tube that touches the stone chips it", PROPOSAL, [ClaspBack, ClaspTubeOuter, Height];
    "clasp.stone_over_front" Refuse "mm" "pavilion over the front hinge", |_, d| of(d, |c| c.stone_over_front.get()), |_, _, _| least(0.08),
        "a tube that touches the stone chips it", PROPOSAL, [ClaspFront, ClaspTubeOuter, Height];
    "clasp.plate" Refuse "mm" "base plate", |v, d| of(d, |_| v[K::PlateThickness]), |v, _, _| wall(v, &limits::PLATE, State::Stock),
        "a thinner plate bends on the wrist", PROPOSAL, [PlateThickness];
    "clasp.leaf" Refuse "mm" "fall-away leaf", |v, d| of(d, |_| v[K::LeafThickness]), |v, _, _| wall(v, &limits::LEAF, State::Stock),
        "a thinner leaf bends when the clasp is opened", PROPOSAL, [LeafThickness];
    "clasp.leaf_buckling" Refuse "N" "load that buckles the leaf", |_, d| of(d, |c| c.leaf_buckling), |_, _, _| least(100.0),
        "the pull of the line presses the leaf together", "Euler, both ends hinged; limit is a proposal", [LeafThickness, ClaspCount, RailWidth];
    "clasp.gap" Refuse "mm" "gap over and under the leaf", |v, d| of(d, |_| v[K::ClaspGap]), |_, _, _| within(0.04, 0.10),
        "less binds, more rattles", PROPOSAL, [ClaspGap];
    "clasp.lug" Refuse "mm" "lug of the clasp", |v, d| d.wire.as_ref().and_then(|_| of(d, |_| v[K::ClaspLug])), |_, _, _| least(0.40),
        "the line hangs on it", PROPOSAL, [ClaspLug];
    "clasp.rail" Refuse "mm" "rail of the frame", |v, d| of(d, |_| v[K::RailWidth]), |v, _, _| wall(v, &limits::RAIL, State::Finished),
        "the rails hold the collets of the clasp together", PROPOSAL, [RailWidth];
    "clasp.cheek" Refuse "mm" "cheek of the frame", |v, d| of(d, |_| v[K::Cheek]), |v, _, _| wall(v, &limits::CHEEK, State::Finished),
        "it takes the snap of the tongue", PROPOSAL, [Cheek];
    "clasp.tube_wall" Refuse "mm" "wall of the clasp's hinge tube", |_, d| of(d, |c| c.tube_wall.get()), |v, _, _| wall(v, &limits::TUBE, State::Stock),
        "thinner tube wears through and opens", HABIT, [ClaspTubeOuter, ClaspTubeBore, ClaspPin];
    "clasp.pin_play" Refuse "mm" "bore over the pin in the clasp", |_, d| of(d, |c| c.pin_play.get()), |_, _, _| within(0.03, 0.08),
        "less binds, more rattles", PROPOSAL, [ClaspTubeBore, ClaspPin];
    "clasp.rim" Refuse "mm" "rim of tube round the clasp's pin bead", |_, d| of(d, |c| c.recess_rim.get()), |v, _, _| wall(v, &limits::RECESS_RIM, State::Stock),
        "a thinner rim splits under the hammer", HABIT, [ClaspTubeOuter, ClaspPin, ClaspTubeBore];
    "clasp.behind_bead" Refuse "mm" "outer knuckle left behind the clasp's pin bead", |_, d| of(d, |c| c.behind_recess.get()), |v, _, _| wall(v, &limits::BEHIND_RECESS, State::Stock),
        "the bead would pull through", PROPOSAL, [ClaspTubeRow, ClaspOuterShare, ClaspPin];
    "clasp.row" Refuse "mm" "room between tube row and rail", |_, d| of(d, |c| c.beside_row.get()), |_, _, _| least(0.02),
        "the row must turn between the rails", PROPOSAL, [ClaspTubeRow, RailWidth];
    "clasp.front_under_pull" Refuse "mm" "pull of the line over the front hinge", |_, d| of(d, |c| c.front_under_pull.get()), |_, _, _| least(0.0),
        "a front hinge over the pull opens the clasp", "moments about the three joints", [ClaspFront, ClaspTubeOuter];
    "clasp.back_over_pull" Refuse "mm" "back hinge over the pull of the line", |_, d| of(d, |c| c.back_over_pull.get()), |_, _, _| least(0.0),
        "a back hinge under the pull opens the clasp", "moments about the three joints", [ClaspBack];
    "clasp.over_centre" Refuse "mm" "back hinge over the front hinge", |_, d| of(d, |c| c.over_centre.get()),
        |_, d, _| least(d.clasp.as_ref().map_or(0.0, |c| c.pin_play.get()) + 0.05),
        "with less, the play of the pins lets the pull open the clasp", "moments about the three joints; 0.05 over the play is a proposal", [ClaspBack, ClaspFront];
    "clasp.catch_play" Refuse "mm" "half of the over-centre", |_, d| of(d, |c| c.over_centre.get() / 2.0), |_, _, _| least(crate::params::dims::CATCH_PLAY.get()),
        "the side catches must take hold before dead centre is crossed", PROPOSAL, [ClaspBack, ClaspFront];
    "clasp.hand" Refuse "mm" "open clasp over the hand", |_, d| of(d, |c| c.hand_to_spare.get()), |_, _, _| least(5.0),
        "the bracelet must pass over the squeezed hand", PROPOSAL, [ClaspCount, Hand];
    "clasp.stand_off" Note "mm" "how far the clasp stands off the wrist", |_, d| of(d, |c| c.stand_off.get()), |_, _, _| most(2.5),
        "a longer clasp is better bent", "sagitta of a chord; limit is a proposal", [ClaspCount];
    "clasp.cheek_room" Refuse "mm" "from the back hinge to the room of the cheeks", |_, d| of(d, |c| c.cheek_to_hinge.get()), |_, _, _| least(0.10),
        "cheek, tongue and hinge need room one after the other", PROPOSAL, [TongueLength, ClaspCount];
    "clasp.plate_between" Refuse "mm" "plate between the strips of the tongue", |_, d| of(d, |c| c.plate_between.get()), |_, _, _| least(0.40),
        "it carries the pull of the line", PROPOSAL, [TongueThickness, TongueSlot, Cheek];
    "clasp.feet_apart" Refuse "mm" "plate between the feet of the strips", |_, d| of(d, |c| c.feet_apart.get()), |_, _, _| least(0.20),
        "it carries the pull of the line", PROPOSAL, [FootWidth, Cheek];
    "tongue.foot" Refuse "mm" "foot of a strip over twice its rivet", |v, d| of(d, |_| v[K::FootWidth] - 2.0 * v[K::StripRivet]), |_, _, _| least(0.0),
        "the rivet would tear out", PROPOSAL, [FootWidth, StripRivet];
    "tongue.foot_length" Refuse "mm" "length of the foot of a strip", |v, d| of(d, |_| v[K::FootLength]), |_, _, _| least(1.6),
        "it takes two rivets", PROPOSAL, [FootLength];
    "tongue.half_lap" Refuse "mm" "half lap of the foot of a strip", |v, d| of(d, |_| v[K::PlateThickness] / 2.0), |v, _, _| wall(v, &limits::HALF_LAP, State::Stock),
        "foot and plate each have half of the thickness there", PROPOSAL, [PlateThickness];
    "tongue.slot" Refuse "mm" "slot beside a strip over its snap", |v, d| of(d, |_| v[K::TongueSlot] - v[K::TongueSnap]), |_, _, _| least(0.08),
        "the strip must give way", PROPOSAL, [TongueSlot, TongueSnap];
    "tongue.ridge" Refuse "mm" "height of plate over the snap ridge", |_, d| of(d, |c| c.ridge_spare.get()), |_, _, _| least(0.0),
        "the ridge with its two slopes is filed from the height of the strip", PROPOSAL, [HoldAngle, LeadAngle, TongueSnap, PlateThickness];
    "tongue.stress" Refuse "" "stress of a strip over its yield", |_, d| of(d, |c| c.latch.tongue_share.usual), |_, _, _| most(SPRING),
        "beyond it a strip stays bent; soldering makes it soft", "cantilever; 0.70 of yield is common practice, yield from the table of alloys", [TongueLength, TongueThickness, TongueSnap],
        range latch::tongue_stress;
    "tongue.opens" Note "N" "force that opens the tongue", |_, d| of(d, |c| c.latch.open_force.usual), |_, _, _| within(3.0, 8.0),
        "less opens by itself, more breaks nails", PROPOSAL, [HoldAngle, TongueThickness, TongueLength], range latch::tongue_opens;
    "tongue.closes" Note "N" "force that closes the tongue", |_, d| of(d, |c| c.latch.close_force.usual), |_, _, _| most(4.0),
        "it must close between two fingers", PROPOSAL, [LeadAngle, TongueThickness, TongueLength], range latch::tongue_closes;
    "tongue.worn" Note "N" "force that opens the tongue, hinges worn", |_, d| of(d, |c| c.latch.open_force.usual),
        |_, d, _| least(d.clasp.as_ref().map_or(0.0, |c| c.latch.worn_force)),
        "with worn hinges the tongue alone holds a pull of 50 N", "moment of 50 N on 0.2 of lost over-centre, twice; proposal", [HoldAngle, TongueThickness, ClaspCount],
        range latch::tongue_opens;
    "catch.stress" Refuse "" "stress of a side catch over its yield", |_, d| of(d, |c| c.latch.catch_share.usual), |_, _, _| most(SPRING),
        "beyond it the wire stays bent", "beam on two supports; 0.70 of yield is common practice, yield from the table of alloys", [CatchSnap, CatchBar, CatchWire],
        range latch::catch_stress;
    "catch.tube_wall" Refuse "mm" "wall of the side catches' tube", |_, d| of(d, |c| c.catch_tube_wall.get()), |v, _, _| wall(v, &limits::CATCH_TUBE, State::Stock),
        "thinner tube opens", HABIT, [CatchTube, CatchWire];
    "catch.length" Refuse "mm" "from a side catch to the eye of the chain", |_, d| of(d, |c| c.side_catch.to_eye.get()), |_, _, _| least(0.15),
        "it must swing clear of the eye and of the line beyond it", PROPOSAL, [CatchBar, ClaspCount];
    "chain.aspect" Note "" "inner diameter of a chain ring over its wire", |_, d| chain(d, |c| c.aspect), |_, _, _| within(10.0, 16.0),
        "tighter rings do not weave, wider ones hang loose; weave a sample of five", HABIT, [ChainRing, ChainWire];
    "chain.guard" Refuse "mm" "chain that keeps the bracelet on",
        |v, d| if v[K::ChainGuard] == 1.0 { chain(d, |c| c.longest_that_holds.get()) } else { None },
        |_, d, _| least(d.clasp.as_ref().map_or(0.0, |c| c.length.get() + 4.0)),
        "shorter it does not reach over the clasp", "hand - 10 - inner length + clasp; 10 is a proposal", [Hand];
    "mark.fits" Note "mm" "room for the hallmark over its length", |v, d| of(d, |c| c.mark_room.get() - v[K::MarkLength]), |_, _, _| least(0.0),
        "ask the assay office for a smaller mark, or give the clasp one more stone", HABIT, [MarkLength, ClaspCount, TongueLength];
    "mark.fits_across" Note "mm" "room for the hallmark over its height", |v, d| of(d, |c| c.mark_across.get() - v[K::MarkHeight]), |_, _, _| least(0.0),
        "ask the assay office for a smaller mark", HABIT, [MarkHeight];
    "mark.metal" Refuse "mm" "plate under the hallmark", |v, d| of(d, |_| v[K::PlateThickness]), |v, _, _| least(if v[K::MarkMethod] == 0.0 { 0.50 } else { 0.30 }),
        "a struck mark shows through thinner metal; ask the assay office", HABIT, [PlateThickness];
}
