//! One number for each parameter, all of them known.

use super::table::{COUNT, Key};
use crate::trade::mechanics::Mechanics;
use crate::trade::own::Own;
use std::ops::{Index, IndexMut};
use std::sync::Arc;

/// A value for every parameter (mm, degrees, carat, counts, or the number of a word in its list), and what of the trade's tables the
/// maker overrules: all that a design is judged by.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Numbers {
    values: [f64; COUNT],
    own: Arc<Own>,
}

impl Numbers {
    pub(crate) fn zero(own: &Arc<Own>) -> Self {
        Self { values: [0.0; COUNT], own: Arc::clone(own) }
    }
    /// The trade's tables as this maker has them.
    pub(crate) fn own(&self) -> &Arc<Own> {
        &self.own
    }
    /// Number of the alloy.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    pub(crate) fn alloy(&self) -> usize {
        self[Key::Alloy] as usize
    }
    /// Stiffness and strength of the alloy.
    pub(crate) fn mechanics(&self) -> Mechanics {
        self.own.mechanics(self.alloy())
    }
}

impl Index<Key> for Numbers {
    type Output = f64;
    fn index(&self, k: Key) -> &f64 {
        // A key is below COUNT by construction.
        &self.values[k as usize]
    }
}

impl IndexMut<Key> for Numbers {
    fn index_mut(&mut self, k: Key) -> &mut f64 {
        &mut self.values[k as usize]
    }
}
