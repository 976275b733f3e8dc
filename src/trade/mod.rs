//! Tables of the trade, each row with its source.
