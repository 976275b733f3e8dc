//! What a search for a way out may move, in which steps, and what each step costs.

use crate::params::table::{Key, Kind, TABLE};
use crate::trade::own::Own;
use std::sync::Arc;

/// Groups that are locked unless freed: what the client, the stone and the law decide, and what only judges.
const LOCKED: [&str; 8] = ["design.", "metal.", "stone.", "wearer.", "tolerance.", "wear.", "trial.", "jig."];

/// What may move, and what it costs.
#[derive(Clone, Debug, Default)]
pub struct Freedom {
    /// Locked parameters or groups that may move all the same.
    pub free: Vec<String>,
    /// Where not empty, only these may move.
    pub only: Vec<String>,
    /// Weights of the maker's own for parameters or groups; the last that names one counts.
    pub weights: Vec<(String, f64)>,
    /// What is in the drawer.
    pub drawer: Drawer,
    /// What of the trade's tables the maker overrules.
    pub own: Arc<Own>,
}

/// Wires, tubes, drills and burs at hand, mm. A parameter that is made with one of them moves from one to the next; an empty list
/// says nothing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawer {
    /// Diameters of wire.
    pub wires: Vec<f64>,
    /// Outside diameters of tube.
    pub tubes: Vec<f64>,
    /// Drills.
    pub drills: Vec<f64>,
    /// Parallel burs.
    pub burs: Vec<f64>,
}

impl Drawer {
    /// The sizes a parameter may be made in, climbing; `None` where the drawer does not say.
    fn of(&self, k: Key) -> Option<Vec<f64>> {
        let list = match k {
            Key::TubeOuter | Key::ClaspTubeOuter | Key::CatchTube => &self.tubes,
            Key::TubeBore | Key::ClaspTubeBore | Key::LightHole => &self.drills,
            Key::OpeningBur | Key::BoreWidth | Key::GrooveWidth => &self.burs,
            _ if k.spec().kind == Kind::Wire => &self.wires,
            _ => return None,
        };
        let mut out: Vec<f64> =
            list.iter().copied().filter(|x| (k.spec().least..=k.spec().most).contains(x)).collect();
        out.sort_by(f64::total_cmp);
        out.dedup();
        (!list.is_empty()).then_some(out)
    }
}

/// What one bench step of a parameter costs: 1 for a cut, 2 for the body of the collet and for stock of another size, 3 for another
/// bur, 4 for what changes the length or the look of the whole line, 5 for a stone more or less (proposals).
#[must_use]
pub fn weight(k: Key) -> f64 {
    match k {
        Key::Width | Key::Gap => 4.0,
        Key::BurAngle => 3.0,
        Key::Count | Key::ClaspCount => 5.0,
        Key::Height | Key::FootHalfWidth | Key::Wall | Key::BlockHalfWidth | Key::CornerRadius => 2.0,
        _ if k.spec().kind == Kind::Wire => 2.0,
        _ => 1.0,
    }
}

/// A bench step of it.
pub(super) fn bench_step(k: Key) -> f64 {
    if matches!(k.spec().kind, Kind::Length | Kind::Wire | Kind::Share) { 0.05 } else { 1.0 }
}

/// The finest step it is set in.
pub(super) fn fine_step(k: Key) -> f64 {
    if matches!(k.spec().kind, Kind::Length | Kind::Wire | Kind::Share) { 0.01 } else { 1.0 }
}

impl Freedom {
    fn names(word: &str, path: &str) -> bool {
        path == word || path.strip_prefix(word).is_some_and(|r| r.starts_with('.'))
    }
    fn any(list: &[String], path: &str) -> bool {
        list.iter().any(|f| Self::names(f, path))
    }
    pub(super) fn allows(&self, k: Key) -> bool {
        let path = k.path();
        let movable =
            matches!(k.spec().kind, Kind::Length | Kind::Wire | Kind::Angle | Kind::Count | Kind::Share);
        let open = !LOCKED.iter().any(|l| path.starts_with(l)) || Self::any(&self.free, path);
        movable && open && (self.only.is_empty() || Self::any(&self.only, path))
    }
    /// Words that name no parameter and no group.
    #[must_use]
    pub fn unknown(&self) -> Vec<String> {
        let known = |w: &&String| !TABLE.iter().any(|s| Self::names(w, s.path));
        let weighed = self.weights.iter().map(|w| &w.0);
        self.free.iter().chain(&self.only).chain(weighed).filter(known).cloned().collect()
    }
    /// The weight of a parameter: the maker's own, or the usual.
    pub(super) fn weight(&self, k: Key) -> f64 {
        let own = self.weights.iter().rev().find(|w| Self::names(&w.0, k.path()));
        own.map_or_else(|| weight(k), |w| w.1)
    }
    /// The sizes it may be made in, from the drawer.
    pub(super) fn ladder(&self, k: Key) -> Option<Vec<f64>> {
        self.drawer.of(k)
    }
}
