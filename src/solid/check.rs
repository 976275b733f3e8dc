//! The contract of a solid, checked.

use super::brep::Solid;
use super::error::BuildError;
use super::trace::ON_SURFACE;
use nalgebra::Point3;
use std::collections::{BTreeMap, BTreeSet};

impl Solid {
    /// Whether every edge is used once in each direction by the faces it names, loops are closed, curves end at their
    /// vertices and lie on both their surfaces.
    ///
    /// # Errors
    /// The first breach, as text.
    pub fn check(&self) -> Result<(), String> {
        let mut uses = vec![[None::<usize>; 2]; self.edges.len()];
        for (i, face) in self.faces.iter().enumerate() {
            let mut corners = BTreeSet::new();
            for ring in &face.loops {
                for (k, &u) in ring.iter().enumerate() {
                    let next = ring[(k + 1) % ring.len()];
                    if self.start_of(next) != self.edges[u.edge].ends[usize::from(u.forward)] {
                        return Err(format!("a boundary of {} is open", face.name));
                    }
                    if !corners.insert(self.start_of(u)) {
                        return Err(format!("the boundary of {} meets itself", face.name));
                    }
                    let slot = &mut uses[u.edge][usize::from(!u.forward)];
                    if slot.replace(i).is_some() {
                        return Err(format!("an edge of {} is used twice in one direction", face.name));
                    }
                }
            }
        }
        for (e, used) in self.edges.iter().zip(&uses) {
            let name = &self.faces[e.faces[0]].name;
            if *used != [Some(e.faces[0]), Some(e.faces[1])] {
                return Err(format!("an edge of {name} is not used by its two faces"));
            }
            let ends = [e.curve.start(), e.curve.end()];
            for (p, &v) in ends.iter().zip(&e.ends) {
                if (p - self.vertices[v]).norm() > ON_SURFACE {
                    return Err(format!("an edge of {name} does not end at its corner"));
                }
            }
            if e.ends[0] == e.ends[1] {
                return Err(format!("an edge of {name} begins where it ends"));
            }
        }
        Ok(())
    }

    /// The shells: groups of faces linked by edges, each in ascending order, in the order of their first faces.
    #[must_use]
    pub fn shell_list(&self) -> Vec<Vec<usize>> {
        let mut group: Vec<usize> = (0..self.faces.len()).collect();
        fn find(g: &mut [usize], mut i: usize) -> usize {
            while g[i] != i {
                g[i] = g[g[i]];
                i = g[i];
            }
            i
        }
        for e in &self.edges {
            let (a, b) = (find(&mut group, e.faces[0]), find(&mut group, e.faces[1]));
            // The lowest face stands for all.
            group[a.max(b)] = a.min(b);
        }
        let mut by_first: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for i in 0..group.len() {
            by_first.entry(find(&mut group, i)).or_default().push(i);
        }
        by_first.into_values().collect()
    }

    /// Number of shells.
    #[must_use]
    pub fn shells(&self) -> usize {
        self.shell_list().len()
    }

    /// Whether this is one body without closed hollows, as a part to be cast must be.
    ///
    /// # Errors
    /// [`BuildError::Pieces`] or [`BuildError::Hollow`], naming faces.
    pub fn whole(&self) -> Result<(), BuildError> {
        let name = |shell: &[usize]| {
            shell.first().and_then(|&f| self.faces.get(f)).map_or_else(String::new, |f| f.name.clone())
        };
        let bodies = self.bodies();
        if bodies.len() > 1 {
            return Err(BuildError::Pieces(bodies.iter().map(|b| name(&b.outer)).collect()));
        }
        match bodies.iter().flat_map(|b| &b.voids).next() {
            Some(hollow) => Err(BuildError::Hollow(name(hollow))),
            None => Ok(()),
        }
    }

    /// Gives the pieces of one named feature numbers by their place, so that every face has a name of its own:
    /// `collet.outside`, `collet.outside.2`, ... from left to right, front to back, bottom to top.
    pub(super) fn number_pieces(&mut self) {
        let mut by_name: BTreeMap<String, Vec<(Point3<f64>, usize)>> = BTreeMap::new();
        for i in 0..self.faces.len() {
            let middle = self.middle(i);
            by_name.entry(self.faces[i].name.clone()).or_default().push((middle, i));
        }
        for (name, mut pieces) in by_name {
            // Cells of 1e-4 mm, so that noise does not order pieces; their borders lie beside every short decimal, where
            // noise would decide again. The sum makes -0 a 0.
            let key = |p: &Point3<f64>| [p.x, p.y, p.z].map(|c| (c * 1e4 + 0.237).round() + 0.0);
            pieces.sort_by(|a, b| {
                let (a, b) = (key(&a.0), key(&b.0));
                a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])).then(a[2].total_cmp(&b[2]))
            });
            for (k, (_, i)) in pieces.into_iter().enumerate().skip(1) {
                self.faces[i].name = format!("{name}.{}", k + 1);
            }
        }
    }

    /// Mean of the points halfway along the edges of a face.
    pub(super) fn middle(&self, face: usize) -> Point3<f64> {
        let mut sum = nalgebra::Vector3::zeros();
        let mut n = 0.0;
        for u in self.faces[face].loops.iter().flatten() {
            let c = &self.edges[u.edge].curve;
            sum += c.point(c.end_parameter() / 2.0).coords;
            n += 1.0;
        }
        Point3::from(sum / f64::max(n, 1.0))
    }
}
