//! Which parameters move the faces of a joint.

/// Parameters that move two faces, the usual one first.
#[must_use]
pub fn movers(between: &[String; 2]) -> Vec<&'static str> {
    const ALL: [(&str, &[&str]); 12] = [
        ("wire.upper", &["joint.bore_height", "joint.wire"]),
        ("wire.lower", &["joint.groove_depth", "joint.wire_flat"]),
        ("wire", &["joint.end_play", "joint.wire"]),
        ("web", &["joint.web_height", "joint.web_edge"]),
        ("bore", &["joint.bore_width", "joint.bore_height"]),
        ("groove", &["joint.groove_width", "joint.groove_depth"]),
        ("knuckle", &["joint.side_gap", "joint.tube_outer"]),
        ("pocket", &["joint.pocket_clearance"]),
        ("pin", &["joint.tube_bore", "joint.pin"]),
        ("claw", &["line.gap", "claw.diameter"]),
        ("stone", &["line.gap", "collet.width"]),
        ("block", &["line.gap", "collet.block_half_width"]),
    ];
    let mut out: Vec<&'static str> = Vec::new();
    for (word, parameters) in ALL {
        if between.iter().any(|b| b.starts_with(word)) {
            for p in parameters {
                if !out.contains(p) {
                    out.push(p);
                }
            }
        }
    }
    if out.is_empty() { vec!["line.gap"] } else { out }
}

#[cfg(test)]
mod tests {
    use super::movers;

    #[test]
    fn both_faces_have_their_say_and_none_twice() {
        let of = |a: &str, b: &str| movers(&[a.into(), b.into()]);
        assert_eq!(of("wire.upper.2", "web.left.edge")[..2], ["joint.bore_height", "joint.wire"]);
        assert!(of("wire.bend", "web.left").contains(&"joint.web_height"));
        assert_eq!(of("claw.1.side", "claw.2.side"), ["line.gap", "claw.diameter"]);
        assert_eq!(of("collet.outside", "collet.outside"), ["line.gap"]);
    }
}
