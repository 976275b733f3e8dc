//! Copies of parts on build plates, packed by a library (crate `crunch`), a tag on every plate.

use crate::mesh::TriMesh;
use crate::mesh::bvh::Aabb;
use crunch::{Item, Rect, Rotation, pack};

/// Packing counts in hundredths of a millimetre.
const GRAIN: f64 = 100.0;
/// Most plates laid out: beyond that the plate is too small to be meant.
const MOST: usize = 200;

/// A plate and how parts stand on it, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bed {
    /// Length along x.
    pub length: f64,
    /// Width along y.
    pub width: f64,
    /// Least room between two parts, and half of it at the border.
    pub spacing: f64,
}

/// A kind of part to be laid out.
#[derive(Clone, Debug)]
pub struct Kind<'m> {
    /// Name.
    pub name: String,
    /// Mesh.
    pub mesh: &'m TriMesh,
    /// How many in all.
    pub count: usize,
    /// Whether every plate has one, whatever the count.
    pub every: bool,
}

/// One copy on a plate: the kind and what its mesh is moved by, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// Index of the kind.
    pub kind: usize,
    /// Its running number, from 1.
    pub number: usize,
    /// By how much it is moved.
    pub by: [f64; 3],
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn grains(mm: f64) -> usize {
    (mm * GRAIN).ceil().max(0.0) as usize
}

/// Tenths of a millimetre, never less than it takes.
#[allow(clippy::cast_precision_loss)] // a plate has some ten thousand grains
fn up(grains: usize) -> f64 {
    (grains as f64 / GRAIN * 10.0).ceil() / 10.0
}

/// The plate that holds the largest part, and the tag behind it where there is one; in words.
fn least(kinds: &[Kind<'_>], size: &dyn Fn(usize) -> [usize; 2]) -> String {
    let (mut one, mut tags) = ([0, 0], [0, 0]);
    for (k, kind) in kinds.iter().enumerate() {
        let [w, h] = size(k);
        if kind.every {
            tags = [tags[0].max(w), tags[1] + h];
        } else {
            one = [one[0].max(w), one[1].max(h)];
        }
    }
    let (w, h) = (one[0].max(tags[0]), one[1] + tags[1]);
    let with = if tags[0] > 0 { " and the tag" } else { "" };
    format!(". --size {:.1}x{:.1} holds one part{with}", up(w), up(h))
}

/// Lays all copies out on as many plates as it takes. Parts are moved, never turned, so that a master enlarged differently along
/// its axes stays right.
///
/// # Errors
/// In bench words, when a part does not fit the plate at all.
pub fn plates(bed: Bed, kinds: &[Kind<'_>]) -> Result<Vec<Vec<Placed>>, String> {
    let boxes: Vec<Aabb> = kinds.iter().map(|k| Aabb::around(&k.mesh.positions)).collect();
    let size = |k: usize| [0, 1].map(|a| grains(boxes[k].max[a] - boxes[k].min[a] + bed.spacing));
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let room = [bed.length, bed.width].map(|v| (v * GRAIN).floor().max(0.0) as usize);
    for (k, kind) in kinds.iter().enumerate() {
        let [w, h] = size(k);
        if w > room[0] || h > room[1] {
            return Err(format!(
                "the plate of {} x {} mm is too small for {}: it takes {:.1} x {:.1} mm with {} mm of room around it{}",
                bed.length,
                bed.width,
                kind.name,
                up(w),
                up(h),
                bed.spacing,
                least(kinds, &size)
            ));
        }
    }
    let mut waiting: Vec<(usize, usize)> = Vec::new();
    for (k, kind) in kinds.iter().enumerate().filter(|k| !k.1.every) {
        waiting.extend((1..=kind.count).map(|n| (k, n)));
    }
    let mut out = Vec::new();
    while !waiting.is_empty() {
        let always = kinds.iter().enumerate().filter(|k| k.1.every).map(|(k, _)| (k, out.len() + 1));
        let wanted: Vec<(usize, usize)> = always.chain(waiting.iter().copied()).collect();
        let items = wanted.iter().map(|&(k, n)| {
            let [w, h] = size(k);
            Item::new((k, n), w, h, Rotation::None)
        });
        let packed = pack(Rect::of_size(room[0], room[1]), items).unwrap_or_else(|some| some);
        let mut plate: Vec<Placed> = packed
            .into_iter()
            .map(|p| {
                let b = &boxes[p.data.0];
                let at = |from: usize, a: usize| from as f64 / GRAIN + bed.spacing / 2.0 - b.min[a];
                Placed { kind: p.data.0, number: p.data.1, by: [at(p.rect.x, 0), at(p.rect.y, 1), -b.min[2]] }
            })
            .collect();
        plate.sort_by_key(|p| (p.kind, p.number));
        let before = waiting.len();
        waiting.retain(|w| !plate.iter().any(|p| (p.kind, p.number) == *w));
        let tags = kinds.iter().filter(|k| k.every).count();
        let tagged = plate.iter().filter(|p| kinds[p.kind].every).count();
        if waiting.len() == before || tagged < tags {
            return Err(format!(
                "the plate of {} x {} mm does not hold one part beside its tag: print without --tag{}",
                bed.length,
                bed.width,
                least(kinds, &size)
            ));
        }
        if out.len() >= MOST {
            return Err(format!(
                "more than {MOST} plates of {} x {} mm: give a larger --size",
                bed.length, bed.width
            ));
        }
        out.push(plate);
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::masters::tag::tag;

    fn boxes(bed: Bed, kinds: &[Kind<'_>], plate: &[Placed]) -> Vec<[f64; 4]> {
        plate
            .iter()
            .map(|p| {
                let b = Aabb::around(&kinds[p.kind].mesh.positions);
                let x = [b.min[0] + p.by[0], b.max[0] + p.by[0]];
                let y = [b.min[1] + p.by[1], b.max[1] + p.by[1]];
                assert!(x[0] >= 0.0 && x[1] <= bed.length && y[0] >= 0.0 && y[1] <= bed.width, "{p:?}");
                [x[0], x[1], y[0], y[1]]
            })
            .collect()
    }

    #[test]
    fn every_copy_stands_once_inside_the_plate_with_its_room() {
        let (part, label) = (tag("AB"), tag("ORDER 7"));
        let kinds = [
            Kind { name: "part".into(), mesh: &part, count: 61, every: false },
            Kind { name: "tag".into(), mesh: &label, count: 0, every: true },
        ];
        let bed = Bed { length: 60.0, width: 40.0, spacing: 1.5 };
        let plates = plates(bed, &kinds).unwrap();
        assert!(plates.len() > 1);
        let mut seen: Vec<usize> =
            plates.iter().flatten().filter(|p| p.kind == 0).map(|p| p.number).collect();
        seen.sort_unstable();
        assert_eq!(seen, (1..=61).collect::<Vec<_>>());
        for plate in &plates {
            assert_eq!(plate.iter().filter(|p| p.kind == 1).count(), 1);
            let b = boxes(bed, &kinds, plate);
            for (i, a) in b.iter().enumerate() {
                for c in &b[i + 1..] {
                    let gap = (a[0] - c[1]).max(c[0] - a[1]).max(a[2] - c[3]).max(c[2] - a[3]);
                    assert!(gap >= 1.5 - 1e-6, "{gap}");
                }
            }
        }
    }

    #[test]
    fn a_plate_too_small_is_told_with_the_size_needed() {
        let part = tag("AB");
        let kinds = [Kind { name: "link".into(), mesh: &part, count: 3, every: false }];
        let e = plates(Bed { length: 5.0, width: 40.0, spacing: 1.0 }, &kinds).unwrap_err();
        assert!(
            e.contains("too small for link: it takes 7.5 x 4.5 mm") && e.contains("--size 7.5x4.5 holds"),
            "{e}"
        );
        // With a tag, the size told is one that works, and a little less is not.
        let kinds = [kinds[0].clone(), Kind { name: "tag".into(), mesh: &part, count: 0, every: true }];
        let e = plates(Bed { length: 7.5, width: 8.0, spacing: 1.0 }, &kinds).unwrap_err();
        assert!(e.contains("--size 7.5x9.0 holds one part and the tag"), "{e}");
        assert_eq!(plates(Bed { length: 7.5, width: 9.0, spacing: 1.0 }, &kinds).unwrap().len(), 3);
    }
}
