//! The stages of the main job, each on its own: read, build, mesh, walls, motion, write. Wall-clock times: on an idle machine only.
//! For counts that do not depend on the machine's other work: `benches/instructions`.

use colletline::masters::{step, stl};
use colletline::motion::{Joint, Movement};
use colletline::parts::link::{self, LinkShape};
use colletline::units::{Mm, Tolerance};
use colletline::{mesh, params};
use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;

const DESIGNS: [(&str, &str); 3] = [
    ("2.5 yellow", include_str!("../../params/line-2.5-yellow.jsonc")),
    ("3.5 rose block", include_str!("../../params/line-3.5-rose-block.jsonc")),
    ("4.0 platinum", include_str!("../../params/line-4.0-platinum.jsonc")),
];

fn stages(c: &mut Criterion) {
    let tolerance = Tolerance::new(0.005).expect("above zero");
    for (name, text) in DESIGNS {
        let mut group = c.benchmark_group(name);
        group.sample_size(20);
        group.bench_function("read", |b| b.iter(|| params::read(black_box(text)).map(|d| d.findings())));
        let design = params::read(text).expect("an example");
        let shape = LinkShape::finished(&design);
        group.bench_function("build", |b| {
            b.iter(|| link::build(black_box(&shape)).map(|b| b.solid.faces.len()))
        });
        let built = link::build(&shape).expect("an example");
        group
            .bench_function("mesh", |b| b.iter(|| mesh::checked(black_box(&built.solid), tolerance).is_ok()));
        group.bench_function("walls", |b| {
            b.iter(|| {
                link::wear_points(black_box(&built.solid), &built.shape, design.state(), design.own()).len()
            });
        });
        let checked = mesh::checked(&built.solid, tolerance).expect("an example");
        group.bench_function("write", |b| {
            b.iter(|| {
                (step::write(&built.solid, "link").len(), stl::to_bytes(&checked.mesh.mesh).map(|s| s.len()))
            });
        });
        group.finish();
    }
    // A movement is seconds, not milliseconds: one of them on the quickest design.
    let (name, text) = DESIGNS[1];
    let design = params::read(text).expect("an example");
    let built = link::build(&LinkShape::finished(&design)).expect("an example");
    let mut group = c.benchmark_group(name);
    group.sample_size(10);
    group.bench_function("motion, back", |b| {
        b.iter(|| {
            Joint::of(black_box(&design), &built.solid, &built.solid, Mm(0.0))
                .map(|j| j.swing(Movement::Back))
                .is_ok()
        });
    });
    group.finish();
}

criterion_group!(benches, stages);
criterion_main!(benches);
