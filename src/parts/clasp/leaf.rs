//! The fall-away leaf M: a plate between the middle knuckles of both hinges.

use super::kit::{bar_y, block};
use super::shape::ClaspShape;
use crate::solid::Tree;

pub(super) fn tree(s: &ClaspShape) -> Tree {
    let (k, f) = (&s.back, &s.front);
    let (w, neck) = (s.leaf_half, k.middle());
    let wide = block("leaf", [k.at[0] + k.room(), f.at[0] - f.room()], [-w, w], s.leaf);
    let long = block("leaf.neck", [k.at[0], f.at[0]], [-neck, neck], s.leaf);
    let knuckle = |name: &str, r: &super::shape::Row| bar_y(name, r.at, r.radius, [-neck, neck]);
    let bore = |name: &str, r: &super::shape::Row| bar_y(name, r.at, r.bore / 2.0, [-neck - 1.0, neck + 1.0]);
    wide.plus(vec![long, knuckle("knuckle.back", k), knuckle("knuckle.front", f)])
        .minus(vec![bore("bore.back", k), bore("bore.front", f)])
}
