//! Exact solids: analytic surfaces, booleans, named faces.
