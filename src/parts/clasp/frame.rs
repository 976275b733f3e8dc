//! The frame U: the collets of the clasp, cut off under their seats, on two rails, with the left lug, the front hinge's outer
//! knuckles on a cross bar, the cheeks and the tubes of the side catches.

use super::kit::{bar_x, bar_y, block, named, on_side};
use super::recess::{cutters, eye};
use super::shape::{CHEEK_HALF, ClaspShape, Hang};
use super::small::profile_x;
use crate::params::{CATCH_PLAY, CHEEK_FOOT, EYE_RIM, KNUCKLE_GAP, KNUCKLE_ROOM};
use crate::parts::link::{End, LinkShape, knuckle_bore, knuckles};
use crate::solid::{Frame, Tree};
use crate::units::Mm;
use nalgebra::Point3;

/// How far cutters reach beyond what they cut, mm.
const BEYOND: f64 = 1.0;
/// Where the rails end before the boundary of the clasp, mm.
const RAIL_FROM: f64 = 0.30;
/// Room over the plate's lug, mm.
const LUG_ROOM: f64 = 0.10;
/// Half width of the legs that carry the front knuckles, mm.
const LEG: f64 = 0.28;
/// An opening whose floor lies lower than this over the cut runs out below: the rails take the place of its sill, mm.
const SILL: f64 = 0.35;

pub(super) fn tree(s: &ClaspShape) -> Tree {
    let station = cut_off(&s.link, s.cut).tree();
    let stations = (0..s.count).map(|i| {
        #[allow(clippy::cast_precision_loss)]
        let x = (i as f64 + 0.5) * s.pitch;
        named(station.clone(), &format!("stone{}", i + 1)).moved(&Frame::at(Point3::new(x, 0.0, s.cut)))
    });
    let mut body: Vec<Tree> = stations.collect();
    let mut grooves = Vec::new();
    let (k, f) = (&s.back, &s.front);
    let leg = f.boundary + KNUCKLE_GAP.get();
    for (side, word) in [(1.0, "front"), (-1.0, "back")] {
        let n = |part: &str| format!("{part}.{word}");
        let rail = on_side(side, [s.half_width - s.rail, s.side()]);
        body.push(block(&n("rail"), [RAIL_FROM, s.length - RAIL_FROM], rail, [s.cut, s.rail_top]));
        let inner = s.half_width - s.rail + 0.1;
        let bar = [
            [leg, f.at[1]],
            [f.half, f.at[1]],
            [f.half, s.cut],
            [inner, s.cut],
            [inner, s.rail_top - 0.1],
            [leg, s.rail_top - 0.1],
        ];
        let names = ["foot", "outside", "under", "end", "top", "inside"];
        body.push(profile_x(&n("bar"), [f.at[0] - LEG, f.at[0] + LEG], &bar, &names, side));
        let cheek = on_side(side, [s.cheek_inner(), s.side()]);
        let along = [s.ridge - CHEEK_HALF, s.ridge + CHEEK_HALF];
        body.push(block(&n("cheek"), along, cheek, [CHEEK_FOOT.get(), s.cut + 0.1]));
        let groove = s.ridge_profile(CATCH_PLAY.get());
        grooves.push(profile_x(
            &n("snap"),
            [along[0] - BEYOND, along[1] + BEYOND],
            &groove,
            &["hold", "tip", "lead", "inside"],
            side,
        ));
        let [y, z] = s.catch.at;
        let half = s.catch.tube_half;
        let tube = [s.middle - half, s.middle + half];
        body.push(bar_x(&n("tube"), [side * y, z], s.catch.tube / 2.0, tube));
        let bore = s.catch.wire / 2.0 + 0.025;
        grooves.push(bar_x(&n("tube.bore"), [side * y, z], bore, [tube[0] - 0.3, tube[1] + 0.3]));
    }
    let knuckle = |side: f64, word: &str| bar_y(word, f.at, f.radius, on_side(side, [f.boundary, f.half]));
    // Room for the back hinge, for the leaf's front knuckle, and for the plate's lug under the last collet.
    let mut rooms = vec![
        bar_y("room.back", k.at, k.room(), [-k.room_half(), k.room_half()]),
        bar_y("room.front", f.at, f.room(), [-f.boundary, f.boundary]),
        block(
            "room.lug",
            [s.wall_gone().min(s.length - s.lug[1] - KNUCKLE_ROOM.get()), s.length + BEYOND],
            [-s.lug_half - KNUCKLE_ROOM.get(), s.lug_half + KNUCKLE_ROOM.get()],
            [-BEYOND, s.lug_top + LUG_ROOM],
        ),
    ];
    if let Hang::Tube(j) = &s.hang {
        // The neighbour's outer knuckles turn here.
        let top = (j.height + j.outer / 2.0 + j.pocket_clearance).get() + 0.04;
        rooms.push(block("room.line", [-BEYOND, s.lug[0]], [-10.0, 10.0], [-BEYOND, top]));
    }
    let lug = block("lug", s.lug, [-s.lug_half, s.lug_half], [0.0, s.cut + 0.5]);
    // On the first stone's rail, the chain's eye between its claws.
    let rail = (s.cut + s.rail_top) / 2.0;
    let round = s.eye / 2.0 + EYE_RIM.get();
    let [eye, eye_hole] = eye(s, s.pitch / 2.0, rail.max(round), [s.cut + 0.05, s.rail_top - 0.05]);
    body.push(eye);
    grooves.push(eye_hole);
    grooves.extend(cutters(s, f));
    let bore = bar_y("bore.front", f.at, f.bore / 2.0, [-f.half - BEYOND, f.half + BEYOND]);
    let frame = Tree::Union(body).minus(rooms);
    let added = vec![knuckle(1.0, "knuckle.front"), knuckle(-1.0, "knuckle.back")];
    grooves.push(bore);
    match &s.hang {
        Hang::Legs { bore, middle, groove, depth } => {
            let x = [-BEYOND, s.lug[1] + 0.02];
            grooves.push(bar_x("lug.bore", [0.0, *middle], bore / 2.0, x));
            grooves.push(block("lug.groove", x, [-groove / 2.0, groove / 2.0], [-BEYOND, *depth]));
            frame.plus([added, vec![lug]].concat()).minus(grooves)
        }
        Hang::Tube(j) => {
            let at = |t: Tree| named(t, "lug");
            let lug =
                lug.minus(crate::parts::link::pockets(j, false, -1.0, "left").into_iter().map(at).collect());
            grooves.push(at(knuckle_bore(j, -1.0, "left")));
            let row = knuckles(j, false, -1.0, "left").into_iter().map(at).collect();
            frame.plus([added, vec![lug], row].concat()).minus(grooves)
        }
    }
}

/// The collet with its claws from height `z` upwards, standing on z = 0.
fn cut_off(link: &LinkShape, z: f64) -> LinkShape {
    let mut s = link.clone();
    s.foot_radius = Mm(link.foot_radius.0 + link.taper() * z);
    s.height = Mm(link.height.0 - z);
    s.stone.girdle = Mm(link.stone.girdle.0 - z);
    s.claw.foot = Mm((link.claw.foot.0 - z).max(0.0));
    s.claw.top = Mm(link.claw.top.0 - z);
    s.opening.top = Mm(link.opening.top.0 - z);
    s.opening.bottom = Mm(link.opening.bottom.0 - z);
    if s.opening.bottom.0 < SILL {
        s.opening.bottom = Mm(-s.opening.corner.0 - 0.5);
    }
    s.foot = None;
    s.ends = [End::Plain, End::Plain];
    s
}
