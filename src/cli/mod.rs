//! The command line: what a person typed, what is printed.
