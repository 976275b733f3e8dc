//! The base plate P: it lies on the skin, carries the right lug, the back hinge's outer knuckles, the ledges and the pockets of the
//! tongue's strips.

use super::kit::{along_x, bar_y, bar_z, block, named, on_side};
use super::recess::{cutters, eye};
use super::shape::{ClaspShape, FIT, Hang, LEDGE_THICK, TANG};
use crate::params::{BUMP_SLOPE, CHEEK_ROOM, EYE_RIM, RIVETS};
use crate::parts::link::{knuckle_bore, knuckles, pockets};
use crate::solid::{Frame, Tree};
use nalgebra::Point3;

/// How far cutters reach beyond what they cut, mm.
const BEYOND: f64 = 1.0;

pub(super) fn tree(s: &ClaspShape) -> Tree {
    let (w, t) = (s.half_width, s.plate);
    let (k, f) = (&s.back, &s.front);
    let lug_face = s.length - s.lug[1];
    // The plate begins where the leaf's middle knuckle has room to turn; two tongues carry the outer knuckles.
    let begin = k.at[0] + k.room();
    let mut body = vec![block("plate", [begin, s.plate_end()], [-w, w], [0.0, t])];
    let mut cuts = vec![block(
        "plate.slot",
        [f.at[0] - f.room(), lug_face],
        [-f.room_half(), f.room_half()],
        [-BEYOND, t + BEYOND],
    )];
    let (ledge, across) = s.ledge();
    let mut added =
        vec![block("lug", [lug_face, s.plate_end()], [-s.lug_half, s.lug_half], [0.0, s.lug_top])];
    for (side, word) in [(1.0, "front"), (-1.0, "back")] {
        let n = |part: &str| format!("{part}.{word}");
        let knuckle = on_side(side, [k.boundary, k.half]);
        body.push(block(&n("plate.tongue"), [k.at[0], begin + BEYOND / 4.0], knuckle, [0.0, t]));
        added.push(bar_y(&n("knuckle"), k.at, k.radius, knuckle));
        // Room for cheek, strip and its travel; the pocket of tang and foot; the rivets.
        let inner = s.strip_outer - s.strip - s.slot;
        let room = on_side(side, [inner, w + BEYOND]);
        cuts.push(block(&n("strip.room"), [s.ridge - CHEEK_ROOM.get(), s.root], room, [-BEYOND, t + BEYOND]));
        let tang = on_side(side, [s.strip_outer - s.strip - FIT, s.strip_outer + FIT]);
        cuts.push(block(
            &n("tang.pocket"),
            [s.root - 0.01, s.root + TANG + FIT],
            tang,
            [-BEYOND, t + BEYOND],
        ));
        let foot = on_side(side, [s.strip_outer - s.foot[1] - FIT, s.strip_outer + FIT]);
        cuts.push(block(
            &n("foot.pocket"),
            [s.root - 0.01, s.root + s.foot[0] + FIT],
            foot,
            [-BEYOND, t / 2.0 + FIT],
        ));
        for (i, at) in RIVETS.iter().enumerate() {
            let y = side * (s.strip_outer - s.foot[1] / 2.0);
            let name = format!("rivet.{word}.{}", i + 1);
            cuts.push(bar_z(&name, [s.root + at, y], s.rivet / 2.0, [-BEYOND, t + BEYOND]));
        }
        let along = s.ledge_along();
        added.push(block(&n("ledge"), along, on_side(side, across), [ledge, ledge + LEDGE_THICK]));
        added.push(block(&n("ledge.post"), along, on_side(side, [across[0], w]), [0.0, ledge + 0.1]));
        added.push(bump(s, side, &n("ledge.bump")));
    }
    // The chain's eye, beside the last stone.
    let round = s.eye / 2.0 + EYE_RIM.get();
    let [eye, eye_hole] = eye(s, s.length - s.pitch / 2.0, round, [0.0, t - 0.05], (0.0, s.eye));
    added.push(eye);
    let bore = bar_y("bore.back", k.at, k.bore / 2.0, [-k.half - BEYOND, k.half + BEYOND]);
    let last = [vec![bore, eye_hole], cutters(s, k)].concat();
    let plate = Tree::Union(body).minus(cuts).plus(added).minus(last);
    match &s.hang {
        Hang::Legs { bore, middle, groove, depth } => {
            let x = [lug_face - 0.02, s.length + BEYOND];
            plate.minus(vec![
                super::kit::bar_x("lug.bore", [0.0, *middle], bore / 2.0, x),
                block("lug.groove", x, [-groove / 2.0, groove / 2.0], [-BEYOND, *depth]),
            ])
        }
        Hang::Tube(j) => {
            let to = Frame::at(Point3::new(s.length, 0.0, 0.0));
            let at = |t: Tree| named(t, "lug").moved(&to);
            plate
                .minus(pockets(j, true, 1.0, "right").into_iter().map(at).collect())
                .plus(knuckles(j, true, 1.0, "right").into_iter().map(at).collect())
                .minus(vec![at(knuckle_bore(j, 1.0, "right"))])
        }
    }
}

/// The bump on the outer edge of a ledge's underside that a side catch snaps past.
fn bump(s: &ClaspShape, side: f64, name: &str) -> Tree {
    let z = s.ledge().0;
    let outer = s.half_width + s.catch.ledge;
    let low = z - s.bump.max(0.01);
    let x = s.ledge_along();
    let half = 0.5 * (x[1] - x[0]) - 0.3;
    let x = [s.middle - half, s.middle + half];
    if side > 0.0 {
        along_x(
            name,
            x,
            &[
                ([outer - BUMP_SLOPE.get(), z], "slope"),
                ([outer, low], "outside"),
                ([outer, z + 0.05], "inside"),
                ([outer - BUMP_SLOPE.get(), z + 0.05], "inside"),
            ],
        )
    } else {
        along_x(
            name,
            x,
            &[
                ([-outer, low], "slope"),
                ([BUMP_SLOPE.get() - outer, z], "inside"),
                ([BUMP_SLOPE.get() - outer, z + 0.05], "inside"),
                ([-outer, z + 0.05], "outside"),
            ],
        )
    }
}
