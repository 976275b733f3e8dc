//! All tests of the whole program in one binary: each binary more would be linked and optimised with all it depends on.

// Helpers of tests; the exceptions of clippy.toml reach only functions marked as tests.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod bodies;
mod command;

mod cli;
mod corpus;
mod degenerate;
mod dims;
mod faults;
mod limits;
mod links;
mod masters;
mod motion;
mod own_tables;
mod params;
mod plan;
mod rounds;
mod same_bytes;
mod solids;
mod swings;
mod trade;
