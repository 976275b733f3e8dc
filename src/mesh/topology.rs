//! Which half edge is whose twin, and what hangs together.

/// Twin of each half edge (`3 t + k` runs from corner `k` of triangle `t` to the next corner), or the half edges that do
/// not have exactly one.
pub(crate) fn twins(triangles: &[[u32; 3]]) -> Result<Vec<u32>, Vec<u32>> {
    let mut all: Vec<(u32, u32, bool, u32)> = Vec::with_capacity(3 * triangles.len());
    let mut id = 0_u32;
    for t in triangles {
        for k in 0..3 {
            let (a, b) = (t[k], t[(k + 1) % 3]);
            all.push((a.min(b), a.max(b), a < b, id));
            id += 1;
        }
    }
    all.sort_unstable();
    let mut twin = vec![u32::MAX; all.len()];
    let mut bad = Vec::new();
    for group in all.chunk_by(|x, y| (x.0, x.1) == (y.0, y.1)) {
        match group {
            [(a, b, false, i), (_, _, true, j)] if a != b => {
                twin[*i as usize] = *j;
                twin[*j as usize] = *i;
            }
            _ => bad.extend(group.iter().map(|g| g.3)),
        }
    }
    if bad.is_empty() { Ok(twin) } else { Err(bad) }
}

/// Union-find labels made dense: per item the number of its set, and how many sets there are.
pub(crate) fn components(n: usize, links: impl IntoIterator<Item = (usize, usize)>) -> (Vec<usize>, usize) {
    let mut parent: Vec<usize> = (0..n).collect();
    let find = |parent: &mut Vec<usize>, mut i: usize| {
        while parent[i] != i {
            parent[i] = parent[parent[i]];
            i = parent[i];
        }
        i
    };
    for (a, b) in links {
        if a < n && b < n {
            let (a, b) = (find(&mut parent, a), find(&mut parent, b));
            parent[a.max(b)] = a.min(b);
        }
    }
    let mut label = vec![usize::MAX; n];
    let mut count = 0;
    for i in 0..n {
        let root = find(&mut parent, i);
        if label[root] == usize::MAX {
            label[root] = count;
            count += 1;
        }
        label[i] = label[root];
    }
    (label, count)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tetrahedron_is_closed_and_an_open_or_turned_one_is_not() {
        let t = [[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]];
        let twin = twins(&t).unwrap();
        for (i, &j) in twin.iter().enumerate() {
            assert_eq!(twin[j as usize] as usize, i);
        }
        assert_eq!(twins(&t[1..]).unwrap_err().len(), 3);
        let mut turned = t;
        turned[0] = [0, 1, 2];
        assert_eq!(twins(&turned).unwrap_err().len(), 6);
    }

    #[test]
    fn components_are_numbered_in_order() {
        assert_eq!(components(5, [(3, 1), (4, 2), (2, 4)]), (vec![0, 1, 2, 1, 2], 3));
    }
}
