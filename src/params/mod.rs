//! The parameter file: text with spans, units, defaults and every rule of range.
