//! The table of parameters: the single source of the reader, the schema, the starter file and the reports.

use crate::trade::metals::METALS;

/// What a parameter measures and how it may be written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Millimetres: a number, or text such as `"0.75 mm"` or `"0.03 in"`.
    Length,
    /// A length that may also be a wire gauge: `"20 AWG"`.
    Wire,
    /// Degrees: a number, or text such as `"90 deg"`.
    Angle,
    /// A whole number.
    Count,
    /// Carat: a number, or text such as `"0.25 ct"`.
    Carat,
    /// A share: a bare number.
    Share,
    /// One of a few words.
    Choice(Words),
    /// Free text.
    Text,
}

/// The lists of words a choice is made from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Words {
    /// Alloys.
    Alloy,
    /// Outline of the collet.
    Shape,
    /// Joint between links.
    Joint,
    /// How the link is made.
    Route,
    /// Which ends carry a joint.
    LinkKind,
    /// Clasp of the line.
    Clasp,
    /// How the strips of the tongue are held.
    Fixing,
    /// What the safety chain guards.
    Guard,
    /// How the hallmark is made.
    Mark,
    /// How bores are left on the master.
    Bores,
    /// How the pattern is made.
    Process,
    /// Who allows for the shrink of the metal.
    MetalBy,
    /// Who allows for the shrink of the pattern.
    PatternBy,
}

impl Words {
    /// The words, in schema order.
    #[must_use]
    pub fn list(self) -> Vec<&'static str> {
        match self {
            Self::Alloy => METALS.iter().map(|m| m.key).collect(),
            Self::Shape => vec!["round", "square", "cushion"],
            Self::Joint => vec!["wire_loop", "hinge_tube"],
            Self::Route => vec!["cast", "fabricated"],
            Self::Clasp => vec!["folding", "bought"],
            Self::Fixing => vec!["riveted", "soldered"],
            Self::Guard => vec!["pin", "sprung"],
            Self::Mark => vec!["struck", "laser"],
            Self::Bores => vec!["pilot", "dimple", "open"],
            Self::Process => vec!["resin", "wax_print", "cut_wax", "direct_metal"],
            Self::MetalBy => vec!["not_stated", "us", "caster"],
            Self::PatternBy => vec!["not_stated", "us", "printer"],
            Self::LinkKind => vec!["line", "plain_left", "plain_right", "mirrored"],
        }
    }
}

/// One row of the table.
#[derive(Clone, Copy, Debug)]
pub struct Spec {
    /// Which parameter.
    pub key: Key,
    /// Path in the file, such as `collet.wall` or `clasp.plate.thickness`.
    pub path: &'static str,
    /// What it measures.
    pub kind: Kind,
    /// Least value taken at all.
    pub least: f64,
    /// Largest value taken at all.
    pub most: f64,
    /// Why the range ends there.
    pub why: &'static str,
    /// One line in bench language.
    pub doc: &'static str,
    /// How the value is found when the file is silent; empty when it must be given.
    pub rule: &'static str,
    /// An example as it stands in a file.
    pub example: &'static str,
}

impl Spec {
    /// True when the file must give it.
    #[must_use]
    pub fn required(&self) -> bool {
        self.rule.is_empty()
    }
    /// Unit for display.
    #[must_use]
    pub fn unit(&self) -> &'static str {
        match self.kind {
            Kind::Length | Kind::Wire => "mm",
            Kind::Angle => "deg",
            Kind::Carat => "ct",
            Kind::Count | Kind::Share | Kind::Choice(_) | Kind::Text => "",
        }
    }
    /// The group it stands in: `collet` of `collet.wall`, `clasp.plate` of `clasp.plate.thickness`.
    #[must_use]
    pub fn section(&self) -> &'static str {
        self.path.rsplit_once('.').map_or(self.path, |p| p.0)
    }
    /// The last part of the path: `wall` of `collet.wall`, `thickness` of `clasp.plate.thickness`.
    #[must_use]
    pub fn leaf(&self) -> &'static str {
        self.path.rsplit_once('.').map_or("", |p| p.1)
    }
}

macro_rules! table {
    ($( $key:ident $path:literal $kind:expr, $least:literal ..= $most:literal, $why:literal,
        $doc:literal, $rule:literal, $example:literal; )*) => {
        /// A parameter, in table order.
        #[allow(missing_docs)] // each variant is documented by its row of the table
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Key { $( $key ),* }

        /// How many parameters there are.
        pub const COUNT: usize = [$( Key::$key ),*].len();

        /// Every parameter, in the order of the file.
        pub const TABLE: [Spec; COUNT] = [$( Spec {
            key: Key::$key, path: $path, kind: $kind, least: $least, most: $most, why: $why,
            doc: $doc, rule: $rule, example: $example,
        } ),*];
    };
}

use Kind::{Angle, Carat, Choice, Count, Length, Share, Text, Wire};

table! {
    Name "design.name" Text, 1.0..=80.0, "it goes into file headers and titles",
        "Name of the design: letters, digits, spaces and . , - _ ' ( ) + # / &", "\"unnamed\"", "\"line of 42\"";
    Alloy "metal.alloy" Choice(Words::Alloy), 0.0..=0.0, "", "Alloy of the links", "", "\"platinum950_ru\"";
    Diameter "stone.diameter" Length, 1.8..=6.0, "claws of 0.60, openings and a wire joint do not fit round less; more is no line link",
        "Diameter of the round stones over the girdle", "", "4.0";
    StoneTolerance "stone.tolerance" Length, 0.0..=0.2, "stones sorted more loosely do not share one seat",
        "How much a stone may be larger or smaller than that", "0.05, the usual sorting", "0.05";
    Carat "stone.carat" Carat, 0.005..=2.0, "lighter or heavier stones are not of 1.5 to 6 mm",
        "Weight of one stone, from the supplier", "0.0061 x diameter^3 x 0.60 x 1.03", "0.25";
    Wrist "wearer.wrist" Length, 110.0..=240.0, "wrists of children and of the largest adults",
        "Girth of the wrist", "", "158";
    Hand "wearer.hand" Length, 130.0..=300.0, "hands of children and of the largest adults",
        "Girth of the squeezed hand, measured where it is widest", "1.22 x the wrist: an estimate, measure it", "195";
    Shape "collet.shape" Choice(Words::Shape), 0.0..=0.0, "", "Outline of the collet", "round", "\"round\"";
    Width "collet.width" Length, 1.5..=7.5, "a setting for stones of 1.5 to 6 mm",
        "Width of the setting over the rim and the claws", "stone.diameter + 0.10, so that the metal and never the stone is the stop", "4.1";
    Height "collet.height" Length, 1.0..=6.0, "lower than 1 holds no joint, higher than 6 tips over on the wrist",
        "Height of the collet from the skin to the rim", "lowest that fits opening and seat over the joint and keeps the stone clear of joint and skin", "2.75";
    FootHalfWidth "collet.foot_half_width" Length, 0.4..=3.7, "must lie inside the setting",
        "Half width of the collet at the skin", "taper of 4 to 8 deg, enough for the claws to stand above the joint; with hinge tubes no more than lets the tube into the wall", "1.72";
    Wall "collet.wall" Length, 0.2..=1.2, "thinner cannot be cast or rolled, thicker leaves no inside",
        "Wall of the collet, measured square to its skin", "0.42 at 2.5 stones, 0.45 at 3, 0.50 at 4", "0.50";
    CornerRadius "collet.corner_radius" Length, 0.1..=1.9, "a sharper corner cannot be polished, a rounder one leaves no flat side",
        "Radius of the upright corners of a square or cushion collet, or of the foot block under a round one", "square 0.09 x collet.width, cushion 0.12; 0.30 on a foot block", "0.35";
    InnerCornerRadius "collet.inner_corner_radius" Length, 0.05..=1.9, "sharper cannot be cleaned out, rounder leaves no flat side",
        "Radius of the corners inside a square or cushion collet", "collet.corner_radius less the wall, at least 0.10", "0.10";
    FootFill "collet.foot_fill" Length, 0.3..=4.5, "lower holds no hinge tube, higher leaves no room for stone and opening",
        "Hinge tube: height to which the foot is solid; under a round collet the height of its foot block", "0.10 under opening.bottom; where that is open too, the lowest that leaves 0.20 of metal round the pockets", "1.10";
    LightHole "collet.light_hole" Length, 0.2..=3.0, "smaller lets no light in and cannot be polished, larger leaves no foot",
        "Hinge tube: diameter of the hole through the solid foot", "1.0, or less where 0.35 behind the pockets asks for it", "1.0";
    BlockHalfWidth "collet.block_half_width" Length, 0.5..=3.75, "must lie inside the setting",
        "Round collet with hinge tube: half width of the square block it stands on", "0.05 over the collet at the height of the block, rounded up", "1.95";
    RimLand "seat.rim_land" Length, 0.1..=0.8, "less is a knife edge, more leaves no seat",
        "Flat land left on the rim outside the seat", "0.25 to 0.30 with the stone", "0.30";
    BurAngle "seat.bur_angle" Angle, 80.0..=98.0, "setting burs run from 80, and above 98 the stone would sit on the edge of the rim",
        "Full angle of the setting bur", "90, the usual setting bur", "90";
    ClawDiameter "claw.diameter" Wire, 0.4..=2.0, "claw wire in use runs 0.6 to 1.4",
        "Claw wire", "0.65 for 2.5 stones, 0.75 for 3, 0.95 for 4", "0.95";
    ClawOver "claw.over" Length, 0.1..=0.8, "the setter needs some wire to fold and no more",
        "How far the claw is left standing above the table", "0.30 to 0.40 with the stone", "0.40";
    OpeningWidth "opening.width" Length, 0.2..=7.0, "must lie inside the setting",
        "Width of the opening in each long side", "widest that leaves 0.40 of end metal and an edge of 45 deg", "2.5";
    OpeningBottom "opening.bottom" Length, 0.2..=4.0, "below 0.2 there is no rail left",
        "Height of the lower edge of the opening above the skin", "0.70 to 1.20, a fifth of the width; with hinge tubes 0.10 over the filled foot", "0.80";
    OpeningTop "opening.top" Length, 0.4..=5.5, "must lie inside the collet",
        "Height of the upper edge of the opening", "0.45 under the seat", "2.05";
    OpeningStop "opening.stop" Length, 0.2..=3.0, "must lie between the bore and the skin",
        "How near to the middle line the opening is cut", "half the bore width + 0.31 to 0.45; with hinge tubes 0.26 x collet.width", "0.75";
    OpeningBur "opening.bur" Length, 0.2..=3.0, "parallel burs in use",
        "Parallel bur that cuts the opening: its corners have half of this as radius", "four fifths of the smaller side of the opening", "1.0";
    Joint "joint.kind" Choice(Words::Joint), 0.0..=0.0, "", "Joint between the links", "wire_loop", "\"wire_loop\"";
    BoreWidth "joint.bore_width" Length, 0.2..=2.0, "burs for a wire loop",
        "Width of the bore through the end wall", "joint.wire + 0.05, and 0.03 over the hammered leg", "0.60";
    BoreHeight "joint.bore_height" Length, 0.2..=2.5, "must lie inside the end wall",
        "Height of the bore: equal to its width it is round, more is drawn up towards the stone", "1.25 x joint.bore_width", "0.75";
    GrooveDepth "joint.groove_depth" Length, 0.1..=1.5, "must lie under the web",
        "Depth of the groove under the end, for the hammered leg of the wire", "joint.wire_flat + 0.03", "0.45";
    GrooveWidth "joint.groove_width" Length, 0.2..=2.5, "must lie inside the foot",
        "Width of that groove", "width of the hammered leg + 0.06", "0.62";
    WebHeight "joint.web_height" Length, 0.2..=1.5, "thinner wears through, thicker does not turn in the loop",
        "Height of the web between groove and bore", "0.50, or enough to turn with its depth", "0.60";
    Wire "joint.wire" Wire, 0.2..=1.2, "thinner breaks, thicker does not fold in the link",
        "Connecting wire", "0.13 x collet.width, at least 0.22", "0.55";
    WireFlat "joint.wire_flat" Length, 0.1..=1.2, "thinner cracks under the hammer",
        "Thickness of the leg that is hammered flat", "0.76 x joint.wire", "0.42";
    WebEdge "joint.web_edge" Length, 0.02..=0.5, "a sharp edge cuts the wire, and the web is not round",
        "Radius the edges of the web are dressed to", "0.43 x depth of the web", "0.22";
    EndPlay "joint.end_play" Length, 0.0..=0.1, "a loop with more play clatters and lengthens the line",
        "Play of the loop at each end", "0.02", "0.02";
    TubeOuter "joint.tube_outer" Wire, 0.7..=2.6, "thinner tube has no wall left beside a pin, thicker is no hinge of a line",
        "Hinge tube: outside diameter of the knuckles", "0.39 x collet.width, 0.34 on a foot block, within 0.88 to 1.40 and what the pockets leave", "1.20";
    TubeBore "joint.tube_bore" Wire, 0.2..=1.5, "drills for a hinge pin",
        "Hinge tube: bore of the knuckles", "joint.pin + 0.04", "0.50";
    Pin "joint.pin" Wire, 0.2..=1.4, "thinner bends, thicker leaves no tube",
        "Hinge tube: pin wire", "the thickest that leaves 0.20 of rim round its bead and 0.30 of tube, at most 0.70", "0.46";
    TubeLength "joint.tube_length" Length, 0.6..=6.0, "a shorter row has no three knuckles, a longer one stands out of the link",
        "Hinge tube: length of the whole row of knuckles, across the line", "0.68 x collet.width, shorter where corners or long sides ask for it", "2.10";
    TubeHeight "joint.tube_height" Length, 0.35..=2.5, "must lie between skin and opening",
        "Hinge tube: height of its axis over the skin", "half of joint.tube_outer + 0.02", "0.62";
    PocketClearance "joint.pocket_clearance" Length, 0.02..=0.2, "less binds, more is no hinge",
        "Hinge tube: clearance all round a knuckle in its pocket", "0.06", "0.06";
    SideGap "joint.side_gap" Length, 0.02..=0.2, "less binds, more lets the line twist",
        "Hinge tube: gap between neighbouring knuckles", "0.04", "0.04";
    OuterShare "joint.outer_share" Share, 0.25..=0.35, "less leaves no metal behind the pin bead, more no middle knuckle",
        "Hinge tube: share of the row that each outer knuckle takes", "0.30", "0.30";
    LinkRoute "link.route" Choice(Words::Route), 0.0..=0.0, "", "How the link is made: cast, or built from strip and wire", "cast", "\"cast\"";
    LinkKind "link.kind" Choice(Words::LinkKind), 0.0..=0.0, "", "line: a joint at both ends; plain_left, plain_right: that end is left whole; mirrored: left and right exchanged", "line", "\"line\"";
    Count "line.count" Count, 8.0..=160.0, "bracelets of 1.5 to 6 mm stones",
        "Stones in all, the clasp included", "wrist + 13 of ease + the loss by bending, divided by the pitch", "42";
    Gap "line.gap" Length, 0.02..=0.6, "less binds, more shows the joint",
        "Gap between two settings", "what the length asks for, within 0.08 to 0.20", "0.10";
    ClaspKind "clasp.kind" Choice(Words::Clasp), 0.0..=0.0, "", "Clasp: our folding clasp, or a bought one, of which only the length counts", "folding", "\"folding\"";
    ClaspCount "clasp.count" Count, 1.0..=40.0, "the clasp is a short stiff part of the line",
        "Stones that ride on the clasp", "the fewest that let the open clasp over the hand and hold its parts; of a bought one those of 20 mm", "5";
    ClaspGap "clasp.gap" Length, 0.02..=0.2, "less binds, more rattles",
        "Gap over and under the leaf, between plate and frame", "0.06", "0.06";
    ClaspTubeOuter "clasp.tube_outer" Wire, 0.6..=2.2, "thinner tube has no wall left beside a pin, thicker stands out under the line",
        "Hinge tubes of the clasp: outside diameter", "twice the height of the joint axis at most, 0.88 to 1.20 with the stone", "1.20";
    ClaspTubeBore "clasp.tube_bore" Wire, 0.2..=1.2, "drills for a hinge pin",
        "Hinge tubes of the clasp: bore", "clasp.pin + 0.04", "0.54";
    ClaspPin "clasp.pin" Wire, 0.2..=1.0, "thinner bends, thicker leaves no tube",
        "Pins of the clasp", "the thickest that leaves 0.20 of rim round its bead and 0.30 of tube, at most 0.50", "0.50";
    ClaspOuterShare "clasp.outer_share" Share, 0.25..=0.35, "less leaves no metal behind the pin bead, more no middle knuckle",
        "Share of a tube row that each outer knuckle takes", "0.30", "0.30";
    ClaspTubeRow "clasp.tube_row" Length, 0.6..=6.0, "a shorter row has no three knuckles, a longer one stands out of the clasp",
        "Length of each tube row, across the line", "width between the rails less 0.15, at most 3", "2.6";
    ClaspFront "clasp.front_height" Length, 0.3..=2.0, "must lie between skin and stones",
        "Height of the front hinge, between leaf and frame, over the skin", "half of clasp.tube_outer", "0.60";
    ClaspBack "clasp.back_height" Length, 0.3..=2.0, "must lie between skin and stones",
        "Height of the back hinge, between leaf and plate, over the skin", "height of the joint axis, or 0.10 over the front hinge", "0.75";
    ClaspLug "clasp.lug" Length, 0.2..=1.5, "thinner tears out, thicker takes the room of the leaf",
        "Thickness of the two lugs that the line is hung on, along the line", "the wall of the collet, at least 0.45", "0.50";
    RailWidth "clasp.rail_width" Length, 0.2..=1.5, "must lie inside the setting",
        "Width of the two rails under the stones of the clasp", "0.15 x collet.width, at least 0.40", "0.60";
    Cheek "clasp.cheek" Length, 0.15..=1.0, "must lie inside the setting",
        "Thickness of the two cheeks that come down beside the tongue", "0.085 x collet.width, at least 0.25", "0.35";
    FrameRoute "clasp.frame.route" Choice(Words::Route), 0.0..=0.0, "",
        "How the frame is made: cast, or built up", "cast", "\"cast\"";
    PlateThickness "clasp.plate.thickness" Length, 0.3..=1.5, "thinner is foil, thicker lifts the line off the wrist",
        "Thickness of the base plate", "0.50 from 3.8 stones, else 0.45", "0.50";
    LeafThickness "clasp.leaf.thickness" Length, 0.3..=1.5, "thinner buckles, thicker reaches the stones",
        "Thickness of the leaf that falls away when the clasp opens", "what 100 N along the clasp asks for, at least 0.50", "0.50";
    TongueLength "clasp.tongue.length" Length, 1.5..=15.0, "shorter does not spring, longer finds no room",
        "Free length of the two spring strips of the tongue", "shortest in half millimetres whose stress stays under 0.70 of its yield over its whole range", "6.0";
    TongueThickness "clasp.tongue.thickness" Length, 0.15..=0.8, "thinner holds nothing, thicker does not bend",
        "Thickness of the strips", "0.42, thinner where the plate is narrow", "0.42";
    TongueSnap "clasp.tongue.snap" Length, 0.04..=0.25, "less lets go, more bends the strip for good",
        "How far the ridge of a strip snaps into its cheek", "0.10", "0.10";
    TongueSlot "clasp.tongue.slot" Length, 0.1..=0.8, "a strip needs room to give way",
        "Slot beside each strip", "twice clasp.tongue.snap, wider where the plate allows", "0.30";
    LeadAngle "clasp.tongue.lead_angle" Angle, 15.0..=60.0, "flatter finds no room, steeper does not close",
        "Slope of the ridge on closing, to the way of closing", "30", "30";
    HoldAngle "clasp.tongue.hold_angle" Angle, 30.0..=70.0, "flatter lets go, steeper locks",
        "Slope of the ridge on opening", "55 to 65, whichever opens nearest to 4.9 N", "55";
    TongueFriction "clasp.tongue.friction" Share, 0.05..=0.5, "smooth noble metal on itself",
        "Friction between ridge and cheek", "0.25", "0.25";
    FootLength "clasp.tongue.foot_length" Length, 0.8..=4.0, "must hold two rivets",
        "Length of the half-lapped foot of a strip", "1.8", "1.8";
    FootWidth "clasp.tongue.foot_width" Length, 0.5..=2.0, "must hold a rivet",
        "Width of that foot", "0.80, less where the plate is narrow", "0.80";
    StripRivet "clasp.tongue.rivet" Wire, 0.25..=0.8, "thinner shears, thicker leaves no foot",
        "Rivets that hold a strip", "0.40, in a foot narrower than 0.80 half of it", "0.40";
    TongueFixing "clasp.tongue.fixing" Choice(Words::Fixing), 0.0..=0.0, "",
        "How the strips are fixed: riveted cold they stay hard, soldered they are soft", "riveted", "\"riveted\"";
    CatchWire "clasp.side_catch.wire" Wire, 0.25..=0.8, "thinner bends open, thicker does not spring",
        "Wire of the two side catches", "0.40", "0.40";
    CatchBar "clasp.side_catch.bar" Length, 4.0..=20.0, "shorter does not spring, longer finds no room",
        "Length of the bar of a side catch", "8", "8";
    CatchSnap "clasp.side_catch.snap" Length, 0.02..=0.2, "less lets go, more bends the wire for good",
        "How far the bar of a side catch snaps past its bump", "0.06, less where the wire would be strained", "0.06";
    CatchTube "clasp.side_catch.tube" Wire, 0.5..=1.6, "tube for that wire",
        "Tube that a side catch swings in", "clasp.side_catch.wire + 0.50", "0.90";
    ChainWire "chain.wire" Wire, 0.2..=0.8, "thinner tears, thicker is no safety chain",
        "Wire of the safety chain, loop-in-loop", "0.35, from 3.2 wide settings 0.40", "0.35";
    ChainRing "chain.ring_inner" Length, 1.5..=12.0, "rings that can be woven",
        "Inner diameter of its rings before they are bent", "12 x chain.wire", "4.2";
    JumpWire "chain.jump_wire" Wire, 0.4..=1.6, "thinner pulls open, thicker is no jump ring",
        "Wire of its two jump rings, open or soldered", "0.9 to 1.2 with the strength of the alloy", "1.0";
    JumpInner "chain.jump_inner" Length, 0.8..=6.0, "must go through eye and chain",
        "Inner diameter of the jump rings", "2.4 x chain.jump_wire", "2.6";
    ChainGuard "chain.guard" Choice(Words::Guard), 0.0..=0.0, "",
        "What the chain guards: pin, the halves stay together; sprung, it keeps the bracelet on and must unhook", "pin", "\"pin\"";
    MarkLength "mark.length" Length, 1.0..=12.0, "hallmarks in use",
        "Length of the hallmark field under the plate", "6, or what the plate leaves", "6";
    MarkHeight "mark.height" Length, 0.5..=4.0, "hallmarks in use",
        "Height of the hallmark field", "1.5, or what the plate leaves", "1.5";
    MarkMethod "mark.method" Choice(Words::Mark), 0.0..=0.0, "",
        "How the mark is made; ask the assay office", "struck where the plate is 0.50, else laser", "\"struck\"";
    TolerancePitch "tolerance.pitch" Length, 0.0..=0.1, "a line made more loosely is no line",
        "How much a pitch may be off", "0.03", "0.03";
    ToleranceClasp "tolerance.clasp" Length, 0.0..=0.3, "a clasp made more loosely does not shut",
        "How much the length of the clasp may be off", "0.10", "0.10";
    WearLoad "wear.load" Share, 0.05..=20.0, "a bracelet on a wrist",
        "Mean pull on a joint as it swings, N; 0.3 to 2 is a guess", "1 N, an assumption", "1.0";
    WearCoefficient "wear.coefficient" Share, 0.000001..=0.01, "clean noble metal to metal ground by grit",
        "Wear coefficient K of Archard's law, V = K F s/H; a tenth and ten times of it are shown beside it", "0.0001, indicative", "0.0001";
    WearSwings "wear.swings" Count, 100.0..=200000.0, "from seldom worn to never still",
        "Swings of a joint a day", "10000, an assumption", "10000";
    WearAngle "wear.angle" Angle, 1.0..=60.0, "no joint of a line turns further",
        "Angle of one swing", "10, an assumption", "10";
    TrialGap "trial.gap" Length, 0.0..=0.3, "a trial link with more play shows nothing",
        "Trial print only: gap added on each surface of bores and grooves", "0.075: tight fit of printed parts", "0.075";
    TrialBoreOffset "trial.bore_offset" Length, 0.0..=0.2, "a printer that closes bores by more needs other settings",
        "Trial print only: how much the printer closes a bore on its radius; it is added back", "0.05, a proposal: measure your printer", "0.05";
    PolishOutside "master.polish.outside" Length, 0.0..=0.3, "more than is ever filed off a casting",
        "Metal left on the outside of collet, rim and claws, on each surface, for filing and polishing", "0.10", "0.10";
    PolishOpenings "master.polish.openings" Length, 0.0..=0.2, "more than is ever polished out of an opening",
        "The same inside the collet and in its openings", "0.05", "0.05";
    PolishUnderside "master.polish.underside" Length, 0.0..=0.3, "more than is ever filed off a casting",
        "The same under the link", "0.10", "0.10";
    PolishMating "master.polish.mating" Length, 0.0..=0.1, "surfaces that run on each other are dressed, not filed away",
        "The same on knuckles and in their pockets", "0.03", "0.03";
    MasterBores "master.bores" Choice(Words::Bores), 0.0..=0.0, "",
        "Bores on the master: pilot, a round hole to drill out; dimple, a mark for the drill; open, as finished", "pilot of three quarters of the width where that is at least 0.40 and the wall at most 0.60, else dimple", "\"pilot\"";
    MasterProcess "master.process" Choice(Words::Process), 0.0..=0.0, "",
        "How the pattern is made: castable resin, printed wax, cut wax; direct_metal, and the link itself is printed, nothing cast", "resin", "\"resin\"";
    MetalShrink "master.metal.shrink" Share, 0.0..=4.0, "no casting alloy shrinks by more",
        "Linear shrink from pattern to casting in per cent; ask the caster", "not stated", "1.25";
    MetalBy "master.metal.compensated_by" Choice(Words::MetalBy), 0.0..=0.0, "",
        "Who allows for it: us, in these files; the caster; not_stated, and the master is not compensated", "not_stated", "\"us\"";
    PatternShrink "master.pattern.shrink" Share, -1.0..=4.0, "no pattern material shrinks or swells by more",
        "Linear shrink from file to pattern in per cent, all axes", "not stated", "1.0";
    PatternShrinkX "master.pattern.shrink_x" Share, -1.0..=4.0, "no pattern material shrinks or swells by more",
        "The same along x of the build plate, where the axes differ", "as master.pattern.shrink", "1.0";
    PatternShrinkY "master.pattern.shrink_y" Share, -1.0..=4.0, "no pattern material shrinks or swells by more",
        "The same along y", "as master.pattern.shrink", "1.0";
    PatternShrinkZ "master.pattern.shrink_z" Share, -1.0..=4.0, "no pattern material shrinks or swells by more",
        "The same upwards", "as master.pattern.shrink", "1.0";
    PatternBy "master.pattern.compensated_by" Choice(Words::PatternBy), 0.0..=0.0, "",
        "Who allows for it: us, in these files; the printer; not_stated, and the master is not compensated", "not_stated", "\"us\"";
    HoleCloses "master.pattern.hole_closes" Length, 0.0..=0.2, "a printer that closes holes by more needs other settings",
        "How much the printer closes a round hole on its radius; it is added back", "0: print the coupon and measure", "0.03";
    SprueDiameter "master.sprue.diameter" Length, 0.0..=5.0, "a thicker stub outweighs what it feeds",
        "Round stub for the sprue, joined under each master: its diameter in the pattern; 0 for none", "0, no stub", "1.5";
    SprueLength "master.sprue.length" Length, 0.5..=15.0, "shorter nothing can be fused to, a longer one is the caster's own sprue",
        "Length of the stub under the part, in the pattern; only with a diameter", "twice its diameter, at least 2", "3.0";
    Contact "maker.contact" Text, 1.0..=80.0, "it stands on the caster's sheet and in the list of files",
        "Whom the caster asks: name, telephone or address", "none", "\"bench 3, telephone 204\"";
    JigPlay "jig.play" Length, 0.02..=0.2, "less jams on a printed surface, more holds nothing in its place",
        "Bench jigs: play between link and jig on each surface", "0.05, a proposal: print one and try", "0.05";
    JigWall "jig.wall" Length, 0.8..=6.0, "thinner breaks in the vice, thicker keeps the tool from the work",
        "Bench jigs: wall round the nest", "2.0", "2.0";
    JigGuide "jig.guide_length" Share, 1.0..=6.0, "shorter guides nothing, longer leaves no drill to cut with",
        "Bench jigs: guided length of the drill, in its diameters", "3", "3";
    JigClearance "jig.guide_clearance" Length, 0.0..=0.1, "more lets the drill wander",
        "Bench jigs: guide hole over the drill, in diameter", "0.02, a proposal", "0.02";
    JigSpring "jig.spring_back" Angle, 0.0..=12.0, "soft wire springs back by less",
        "Bench jigs: how far a bend of the connecting wire springs back; the former bends it so much further", "3, from memory: soft wire 1 to 5; try one loop", "3";
}

impl Key {
    /// The row of the table.
    #[must_use]
    pub fn spec(self) -> &'static Spec {
        &TABLE[self as usize]
    }
    /// Whether its values are numbers.
    #[must_use]
    pub fn is_number(self) -> bool {
        !matches!(self.spec().kind, Kind::Choice(_) | Kind::Text)
    }
    /// The path in the file.
    #[must_use]
    pub fn path(self) -> &'static str {
        self.spec().path
    }
    /// The parameter at this path.
    #[must_use]
    pub fn at(path: &str) -> Option<Self> {
        TABLE.iter().find(|s| s.path == path).map(|s| s.key)
    }
}

/// The groups of the file, each with one line in bench language, in order. A group within a group has the path of both,
/// such as `clasp.plate`, and stands after it.
pub const SECTIONS: &[(&str, &str)] = &[
    ("design", "What the design is called"),
    ("metal", "The metal"),
    ("stone", "The stones: all alike, round"),
    ("wearer", "The wearer"),
    ("collet", "The collet: tapered, wide at the stone"),
    ("seat", "The seat cut for the stone"),
    ("claw", "Four upright claws"),
    ("opening", "The openings in the two long sides"),
    ("joint", "The joint: a wire loop through bores at each end, or a hinge tube with a pin"),
    ("link", "The link as a piece"),
    ("line", "The line"),
    ("clasp", "The clasp: base plate against the skin, fall-away leaf over it, frame with the stones on top"),
    ("clasp.plate", "The base plate"),
    ("clasp.leaf", "The fall-away leaf"),
    ("clasp.frame", "The frame that carries the stones"),
    ("clasp.tongue", "The tongue: two spring strips, fixed cold after the last heat"),
    ("clasp.side_catch", "The side catches: the second lock, one at each side"),
    ("chain", "The safety chain between frame and plate"),
    ("mark", "The hallmark, under the plate"),
    ("tolerance", "How exactly the parts are made"),
    ("wear", "What wear is reckoned from: assumptions, none of them measured"),
    ("trial", "The trial link for the printer; the finished link is not touched"),
    ("master", "The master for casting: what is left on it, and who allows for shrink"),
    ("master.polish", "Metal left for filing and polishing, on each surface"),
    ("master.metal", "Shrink of the metal"),
    ("master.pattern", "Shrink of the pattern, measured with the coupon"),
    ("master.sprue", "A stub for the sprue, joined to the master; the caster's sheet says where"),
    ("maker", "Who answers for the files"),
    ("jig", "Bench jigs: printed helps for openings, bores, wire and pitch"),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_group_stands_after_the_group_it_is_in() {
        for (i, (name, about)) in SECTIONS.iter().enumerate() {
            assert!(!about.is_empty());
            assert!(SECTIONS.iter().take(i).all(|s| s.0 != *name), "{name} twice");
            if let Some((parent, _)) = name.rsplit_once('.') {
                assert!(SECTIONS.iter().take(i).any(|s| s.0 == parent), "{name}");
            }
        }
    }

    #[test]
    fn the_table_is_in_order_and_every_row_is_whole() {
        for (i, s) in TABLE.iter().enumerate() {
            assert_eq!(s.key as usize, i);
            assert_eq!(Key::at(s.path), Some(s.key));
            assert!(!s.doc.is_empty() && !s.example.is_empty() && !s.leaf().is_empty(), "{}", s.path);
            assert!(SECTIONS.iter().any(|x| x.0 == s.section()), "{}", s.path);
            if matches!(s.kind, Kind::Choice(_)) {
                continue;
            }
            assert!(s.least < s.most && !s.why.is_empty(), "{}", s.path);
        }
    }
}
