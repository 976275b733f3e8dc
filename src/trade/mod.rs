//! Tables of the trade, each row with its source.
//!
//! "Common practice" means a habit of the bench without a published source; "proposal" a number of our own
//! that a maker may overrule.

pub mod casting;
pub mod drills;
pub mod gauges;
pub mod hallmark;
pub mod limits;
pub mod mechanics;
pub mod metals;
pub mod own;
pub mod printers;
pub mod processes;
pub mod rows;
pub mod solders;
pub mod stones;
pub mod wearing;
