//! The measures all parts of the clasp are built from, in the clasp's frame: x = 0 where the cell of its first stone begins, z = 0
//! the underside of the line; mm.

use crate::params::{
    Design, Dims, JointKind, KNUCKLE_GAP, KNUCKLE_ROOM, Key, LEDGE, LEDGE_OVER, RIDGE_FLAT, STAND_BACK,
    STRIP_CLEAR,
};
use crate::parts::link::{LinkShape, Outline, TubeJoint};
use crate::units::Mm;

/// Thickness of the ledges, mm.
pub(super) const LEDGE_THICK: f64 = 0.25;
/// How far a strip reaches beyond its ridge, mm.
pub(super) const BEYOND_RIDGE: f64 = 0.75;
/// Half length of a cheek and of a ridge, mm.
pub(super) const CHEEK_HALF: f64 = 0.90;
pub(super) const RIDGE_HALF: f64 = 0.40;
/// Fit of a strip in its pocket, mm.
pub(super) const FIT: f64 = 0.003;
/// Length of the tang of a strip, mm.
pub(super) const TANG: f64 = 0.50;

/// One row of hinge tube across the clasp.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Row {
    pub(super) at: [f64; 2],
    pub(super) radius: f64,
    pub(super) bore: f64,
    pub(super) half: f64,
    pub(super) boundary: f64,
}

impl Row {
    /// Half length of the middle knuckle.
    pub(super) fn middle(&self) -> f64 {
        self.boundary - KNUCKLE_GAP.get()
    }
    /// Radius of the room a knuckle turns in.
    pub(super) fn room(&self) -> f64 {
        self.radius + KNUCKLE_ROOM.get()
    }
    pub(super) fn room_half(&self) -> f64 {
        self.half + KNUCKLE_ROOM.get()
    }
}

/// What the line is hung on with.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Hang {
    /// Bore and groove for the legs of a wire loop: bore diameter, height of its middle, groove width and depth.
    Legs { bore: f64, middle: f64, groove: f64, depth: f64 },
    /// Knuckles of a hinge tube about the cell's boundary.
    Tube(TubeJoint),
}

/// A side catch: y and z of its tube's axis; wire, length of the bar, tube and its half length; bends, legs and hooks at the middle
/// line; how far the ledges stand proud.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Catch {
    pub(super) at: [f64; 2],
    pub(super) wire: f64,
    pub(super) bar: f64,
    pub(super) tube: f64,
    pub(super) tube_half: f64,
    pub(super) bend: f64,
    pub(super) leg: f64,
    pub(super) hook: f64,
    pub(super) ledge: f64,
}

/// A pin: its wire, its bead and how deep that is sunk, what is left over the other end for the rivet.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Pin {
    pub(super) wire: f64,
    pub(super) bead: f64,
    pub(super) sunk: f64,
    pub(super) rivet: f64,
}

/// All measures.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct ClaspShape {
    pub(super) count: usize,
    pub(super) pitch: f64,
    pub(super) length: f64,
    pub(super) half_width: f64,
    pub(super) plate: f64,
    pub(super) leaf: [f64; 2],
    pub(super) leaf_half: f64,
    pub(super) cut: f64,
    pub(super) rail_top: f64,
    pub(super) rail: f64,
    pub(super) back: Row,
    pub(super) front: Row,
    pub(super) hang: Hang,
    pub(super) lug: [f64; 2],
    pub(super) lug_half: f64,
    pub(super) lug_top: f64,
    pub(super) cheek: f64,
    pub(super) strip_outer: f64,
    pub(super) strip: f64,
    pub(super) slot: f64,
    pub(super) ridge: f64,
    pub(super) root: f64,
    pub(super) ridge_height: f64,
    pub(super) slopes: [f64; 2],
    pub(super) foot: [f64; 2],
    pub(super) rivet: f64,
    pub(super) middle: f64,
    pub(super) catch: Catch,
    pub(super) bump: f64,
    pub(super) link: LinkShape,
    pub(super) pin: Pin,
    /// Hole of the chain's eyes.
    pub(super) eye: f64,
    /// Rings of the chain, inside and wire.
    pub(super) ring: [f64; 2],
    /// Jump rings, inside and wire.
    pub(super) jump: [f64; 2],
}

impl ClaspShape {
    /// `None` where the clasp is a bought one.
    pub(super) fn of(design: &Design) -> Option<Self> {
        let d: &Dims = design.dims();
        let c = d.clasp.as_ref()?;
        let g = |k: Key| design.get(k);
        let row = |x: Mm, z: f64| Row {
            at: [x.get(), z],
            radius: c.tube_radius.get(),
            bore: g(Key::ClaspTubeBore),
            half: g(Key::ClaspTubeRow) / 2.0,
            boundary: c.boundary.get(),
        };
        let link = LinkShape::finished(design);
        let hang = match d.joint {
            JointKind::WireLoop => Hang::Legs {
                bore: g(Key::BoreWidth),
                middle: g(Key::GrooveDepth) + g(Key::WebHeight) + g(Key::BoreWidth) / 2.0,
                groove: g(Key::GrooveWidth),
                depth: g(Key::GrooveDepth),
            },
            JointKind::HingeTube => Hang::Tube(TubeJoint {
                axis: Mm(0.0),
                height: Mm(g(Key::TubeHeight)),
                outer: Mm(g(Key::TubeOuter)),
                bore: Mm(g(Key::TubeBore)),
                length: Mm(g(Key::TubeLength)),
                outer_share: g(Key::OuterShare),
                side_gap: Mm(g(Key::SideGap)),
                pocket_clearance: Mm(g(Key::PocketClearance)),
            }),
        };
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        Some(Self {
            count: g(Key::ClaspCount) as usize,
            pitch: d.pitch.get(),
            length: c.length.get(),
            half_width: d.rim_radius.get(),
            plate: g(Key::PlateThickness),
            leaf: [c.leaf_bottom.get(), c.leaf_top.get()],
            leaf_half: c.leaf_width.get() / 2.0,
            cut: c.frame_bottom.get(),
            rail_top: c.rail_top.get(),
            rail: g(Key::RailWidth),
            back: row(c.back_x, g(Key::ClaspBack)),
            front: row(c.front_x, g(Key::ClaspFront)),
            hang,
            lug: [c.lug_outer.get(), c.lug_inner.get()],
            lug_half: c.lug_half_width.get(),
            lug_top: c.lug_top.get(),
            cheek: g(Key::Cheek),
            strip_outer: c.strip_outer.get(),
            strip: g(Key::TongueThickness),
            slot: g(Key::TongueSlot),
            ridge: c.ridge.get(),
            root: c.strip_root.get(),
            ridge_height: c.ridge_height.get(),
            slopes: [g(Key::LeadAngle), g(Key::HoldAngle)].map(|a| libm::tan(a.to_radians())),
            foot: [g(Key::FootLength), g(Key::FootWidth)],
            rivet: g(Key::StripRivet),
            middle: c.middle.get(),
            catch: Catch {
                at: [c.catch_y.get(), c.catch_z.get()],
                wire: g(Key::CatchWire),
                bar: g(Key::CatchBar),
                tube: g(Key::CatchTube),
                tube_half: c.side_catch.tube_half.get(),
                bend: c.side_catch.bend.get(),
                leg: c.side_catch.leg.get(),
                hook: c.side_catch.hook.get(),
                ledge: c.side_catch.ledge_proud.get(),
            },
            bump: c.latch.catch_bump.get(),
            link,
            pin: Pin {
                wire: g(Key::ClaspPin),
                bead: c.pin_bead.get(),
                sunk: c.recess_depth.get(),
                rivet: c.rivet_length.get(),
            },
            eye: d.chain.as_ref().map_or(1.0, |c| c.eye.get()),
            ring: [g(Key::ChainRing), g(Key::ChainWire)],
            jump: [g(Key::JumpInner), g(Key::JumpWire)],
        })
    }
    /// Outer side of rails and cheeks.
    pub(super) fn side(&self) -> f64 {
        self.half_width - STAND_BACK.get()
    }
    /// Outer end of the plate, beyond the right lug.
    pub(super) fn plate_end(&self) -> f64 {
        self.length - self.lug[0]
    }
    /// Where the room for the plate's lug begins, so that nothing of the last collet's right wall is left hanging in it: at
    /// the wall's inside beside the opening, or at the opening.
    pub(super) fn wall_gone(&self, link: &LinkShape) -> f64 {
        let inner = link.inner(self.cut);
        let stop = link.opening.stop.get();
        let wall = match link.outline {
            Outline::Round => (inner * inner - stop * stop).max(0.0).sqrt(),
            Outline::Square { .. } => inner,
        };
        self.length - self.pitch / 2.0 + wall.min(link.opening.width.get() / 2.0) - 0.02
    }
    /// Underside of the ledges, and the stretch they take across.
    pub(super) fn ledge(&self) -> (f64, [f64; 2]) {
        let from = (self.half_width - 0.30).max(self.strip_outer + 0.02);
        (self.plate + LEDGE_OVER.get(), [from, self.half_width + self.catch.ledge])
    }
    /// Stretch of a ledge along the clasp.
    pub(super) fn ledge_along(&self) -> [f64; 2] {
        [self.middle - LEDGE.0, self.middle + LEDGE.0]
    }
    /// The snap ridge in (y, z), y over the strip's outer face, `out` farther out: lower slope, tip, upper slope.
    pub(super) fn ridge_profile(&self, out: f64) -> [[f64; 2]; 4] {
        let h = self.ridge_height;
        let [lead, hold] = self.slopes.map(|t| h / t);
        let low = (self.plate - lead - hold - RIDGE_FLAT.get()) / 2.0;
        let y = self.strip_outer + out;
        [
            [y, low],
            [y + h, low + hold],
            [y + h, low + hold + RIDGE_FLAT.get()],
            [y, low + hold + RIDGE_FLAT.get() + lead],
        ]
    }
    /// Inner face of a cheek.
    pub(super) fn cheek_inner(&self) -> f64 {
        self.strip_outer + STRIP_CLEAR.get()
    }
}
