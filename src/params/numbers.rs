//! One number for each parameter, all of them known.

use super::table::{COUNT, Key};
use std::ops::{Index, IndexMut};

/// A value for every parameter: mm, degrees, carat, counts, or the number of a word in its list.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Numbers([f64; COUNT]);

impl Numbers {
    pub(crate) fn zero() -> Self {
        Self([0.0; COUNT])
    }
}

impl Index<Key> for Numbers {
    type Output = f64;
    fn index(&self, k: Key) -> &f64 {
        // A key is below COUNT by construction.
        &self.0[k as usize]
    }
}

impl IndexMut<Key> for Numbers {
    fn index_mut(&mut self, k: Key) -> &mut f64 {
        &mut self.0[k as usize]
    }
}
