//! Nothing but the benches beside it.
