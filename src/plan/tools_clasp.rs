//! Drills and burs of the folding clasp.

use super::tools::List;
use crate::params::{Design, Key};

/// Cuts of the clasp, in the order of the work; none for a bought one.
pub(super) fn clasp(l: &mut List<'_>, design: &Design) {
    let Some(c) = &design.dims().clasp else { return };
    let g = |k: Key| design.get(k);
    let bore = g(Key::ClaspTubeBore);
    l.drill(
        "clasp tube, pilot",
        super::tools::PILOT * bore,
        None,
        2,
        "only where the tube closed up in soldering",
    );
    l.drill(
        "clasp tube",
        bore,
        None,
        2,
        &format!(
            "through the assembled row, oiled; pin {:.2}, play {:.2}",
            g(Key::ClaspPin),
            c.pin_play.get()
        ),
    );
    l.bur(
        "recess of the pin bead, clasp",
        "ball bur",
        c.pin_bead.get(),
        Some(c.recess_depth.get()),
        2,
        "one end of each row",
    );
    let pin = g(Key::ClaspPin);
    l.bur("rivet end, clasp", "countersink", 1.5 * pin, Some(0.25 * pin), 2, "90 deg, the other end");
    let rivet = g(Key::StripRivet);
    l.drill("rivets of the strips", rivet, None, 4, "plate and strip together, after the last heat");
    l.bur(
        "heads of these rivets",
        "countersink",
        1.5 * rivet,
        Some(0.25 * rivet),
        8,
        "90 deg, both sides; filed flush",
    );
    l.drill(
        "side catch, chenier",
        g(Key::CatchWire) + 0.05,
        None,
        2,
        "only where it closed up in soldering; the wire turns freely",
    );
}
