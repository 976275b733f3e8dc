//! The working mesh at a node: one vertex, with one fan of triangles round it.
//!
//! Both operands of a boolean have a vertex in a node, in the same place to the last bit. The boolean keeps the two
//! surfaces apart there by a symbolic hair: which of the two runs through is not decided by their shape, and what is left
//! are two vertices in one place and triangles without height between them. Putting the vertices together and the flat
//! triangles away leaves what the surfaces say: they cross there.

use super::error::BuildError;
use super::primitives::Tagged;
use super::registry::{AT_NODE, Registry};
use std::collections::BTreeMap;

/// Makes the vertices at each node one.
///
/// # Errors
/// [`BuildError::Touching`] where material meets in the node only.
pub fn weld(m: &mut Tagged, reg: &Registry) -> Result<(), BuildError> {
    let mut at: Vec<(u32, usize)> = Vec::new();
    let mut alias: BTreeMap<u32, u32> = BTreeMap::new();
    for (node, n) in reg.nodes().iter().enumerate() {
        // Nodes in one place are the same node.
        if reg.nodes()[..node].iter().any(|o| o.at == n.at) {
            continue;
        }
        let mut first = None;
        for (v, p) in (0u32..).zip(&mut m.positions) {
            if (*p - n.at).norm() < AT_NODE {
                *p = n.at;
                match first {
                    None => {
                        first = Some(v);
                        at.push((v, node));
                    }
                    Some(f) => {
                        alias.insert(v, f);
                    }
                }
            }
        }
    }
    if !alias.is_empty() {
        for t in &mut m.triangles {
            *t = t.map(|v| alias.get(&v).copied().unwrap_or(v));
        }
        discard(m, |t| t[0] == t[1] || t[1] == t[2] || t[2] == t[0]);
        flaps(m);
    }
    for (v, node) in at {
        if fans(m, v) > 1 {
            let [a, b] = reg.nodes()[node].surfaces;
            return Err(BuildError::Touching { faces: reg.names(a, b), gap: 0.0 });
        }
    }
    Ok(())
}

/// Takes away closed shells all of whose triangles lie on one plane: two sheets back to back, which coplanar faces may
/// leave behind. They enclose nothing.
pub fn discard_membranes(m: &mut Tagged, reg: &Registry) {
    let mut parent: Vec<u32> = (0u32..).take(m.positions.len()).collect();
    fn find(parent: &mut [u32], mut i: u32) -> u32 {
        while parent[i as usize] != i {
            parent[i as usize] = parent[parent[i as usize] as usize];
            i = parent[i as usize];
        }
        i
    }
    for t in &m.triangles {
        for k in 1..3 {
            let (a, b) = (find(&mut parent, t[0]), find(&mut parent, t[k]));
            parent[a.max(b) as usize] = a.min(b);
        }
    }
    // The one plane of each shell, `None` where there are several surfaces or a curved one.
    let mut plane: BTreeMap<u32, Option<usize>> = BTreeMap::new();
    for (t, &tag) in m.triangles.iter().zip(&m.tags) {
        let s = reg.tags[tag].surface;
        let flat = (reg.strips(s) == 0).then_some(s);
        let of = plane.entry(find(&mut parent, t[0])).or_insert(flat);
        if *of != flat {
            *of = None;
        }
    }
    if plane.values().any(Option::is_some) {
        discard(m, |t| plane.get(&find(&mut parent, t[0])).is_some_and(Option::is_some));
    }
}

fn discard(m: &mut Tagged, mut gone: impl FnMut([u32; 3]) -> bool) {
    let keep: Vec<bool> = m.triangles.iter().map(|&t| !gone(t)).collect();
    let mut it = keep.iter();
    m.triangles.retain(|_| it.next().copied().unwrap_or(true));
    let mut it = keep.iter();
    m.tags.retain(|_| it.next().copied().unwrap_or(true));
}

/// Removes pairs of triangles that lie back to back on the same three vertices.
fn flaps(m: &mut Tagged) {
    let key = |t: [u32; 3]| {
        let mut k = t;
        k.sort_unstable();
        let odd = (t[0] > t[1]) ^ (t[1] > t[2]) ^ (t[0] > t[2]);
        (k, odd)
    };
    let mut count: BTreeMap<[u32; 3], [usize; 2]> = BTreeMap::new();
    for &t in &m.triangles {
        let (k, odd) = key(t);
        count.entry(k).or_default()[usize::from(odd)] += 1;
    }
    count.retain(|_, n| n[0] > 0 && n[1] > 0);
    if count.is_empty() {
        return;
    }
    let mut left: BTreeMap<[u32; 3], [usize; 2]> =
        count.into_iter().map(|(k, [a, b])| (k, [a.min(b); 2])).collect();
    discard(m, |t| {
        let (k, odd) = key(t);
        let Some(n) = left.get_mut(&k).map(|n| &mut n[usize::from(odd)]).filter(|n| **n > 0) else {
            return false;
        };
        *n -= 1;
        true
    });
}

/// Number of fans round a vertex; more than one means that the surface only touches itself there.
fn fans(m: &Tagged, v: u32) -> usize {
    // From the vertex a triangle goes out to, to the one it comes back from.
    let mut next: BTreeMap<u32, u32> = BTreeMap::new();
    for t in &m.triangles {
        if let Some(i) = t.iter().position(|&x| x == v) {
            next.insert(t[(i + 1) % 3], t[(i + 2) % 3]);
        }
    }
    let mut count = 0;
    while let Some((&start, _)) = next.first_key_value() {
        count += 1;
        let mut at = start;
        while let Some(n) = next.remove(&at) {
            at = n;
        }
    }
    count
}
