//! What a resin printer does to small gaps: the defaults of the trial link.

use crate::units::Mm;

/// Gap the trial print gets on each surface of a bore or groove, on top of the finished clearance.
///
/// A tight fit of printed parts is 0.15 in all (service guide hycubeworks.in), so 0.075 a surface; with the
/// 0.05 of finished play that makes the 0.20 below which casters fill a gap (common practice).
pub const TRIAL_GAP: Mm = Mm(0.075);

/// How much a printed bore is expected to close on its radius. Service guides only say that holes under 0.5 may
/// close (addema.se/guides-sla); the figure is a proposal, to be measured with the maker's own printer.
pub const BORE_CLOSES: Mm = Mm(0.05);
