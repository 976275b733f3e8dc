//! scratch
use colletline::parts::link::*;
use colletline::units::*;
use colletline::*;
fn main() {
    let text = std::fs::read_to_string(std::env::args().nth(1).unwrap()).unwrap();
    let d = params::read(&text).unwrap();
    let s = LinkShape::finished(&d);
    let t = std::time::Instant::now();
    let b = build(&s).unwrap();
    println!("build {:?} {:?}", t.elapsed(), b.effort.retries);
    let t = std::time::Instant::now();
    let w = wear_points(&b.solid, &b.shape, d.state());
    println!("wear {:?}", t.elapsed());
    for r in &w {
        println!(
            "{:28} {:?} {:.4} {:?} {:?} {:?}",
            r.point, r.value_mm, r.limit_mm, r.verdict, r.why, r.between
        );
    }
    let t = std::time::Instant::now();
    let a = walls::acute_edges(&b.solid, Deg(60.0));
    println!("acute {:?}", t.elapsed());
    for e in a {
        println!("{:?}", e);
    }
    let t = std::time::Instant::now();
    let k = mesh::checked(&b.solid, Tolerance::new(0.005).unwrap()).unwrap();
    println!("checked {:?} {:?}", t.elapsed(), k.report);
    for tol in [0.005f64] {
        let t = std::time::Instant::now();
        let m = walls::mesh_walls(
            &k.mesh.mesh,
            &k.mesh.chord,
            walls::DELTA_WEAR,
            Tolerance::new(tol).unwrap(),
            Mm(1.0),
        );
        println!("mesh walls {tol} {:?} {:?}", t.elapsed(), m);
    }
    let t = std::time::Instant::now();
    let w = mesh::witness::witness(&b.solid.to_truck().unwrap(), Tolerance::new(0.005).unwrap()).unwrap();
    println!("witness {:?} {:?} exact {}", t.elapsed(), w, k.exact.volume);
}
