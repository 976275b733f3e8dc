//! The `colletline` command.
fn main() {}
