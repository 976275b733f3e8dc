//! Wall thickness between named faces, and its verdict.
