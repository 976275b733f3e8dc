//! scratch
use colletline::parts::link::*;
use colletline::solid::Solid;
use colletline::units::*;
fn a() -> LinkShape {
    let j = LoopJoint {
        bore_width: Mm(0.60),
        bore_height: Mm(0.75),
        groove_depth: Mm(0.45),
        groove_width: Mm(0.62),
        web_height: Mm(0.60),
        web_edge: Mm(0.22),
    };
    let (d, w, h, m, dc) = (4.0, 4.1, 2.75, 0.30, 0.95);
    let zg = h + (d / 2.0 - w / 2.0 + m);
    let rc = 2f64.sqrt() * (w / 2.0 - dc / 2.0);
    let ta = (w / 2.0 - 1.72) / h;
    LinkShape {
        foot_radius: Mm(1.72),
        rim_radius: Mm(w / 2.0),
        height: Mm(h),
        wall: Mm(0.5),
        rim_land: Mm(m),
        bur_angle: Deg(90.0),
        stone: StoneShape {
            diameter: Mm(d),
            girdle: Mm(zg),
            girdle_thickness: Mm(0.025 * d),
            crown: Mm(0.145 * d),
            table: Mm(0.57 * d),
        },
        claw: ClawShape {
            diameter: Mm(dc),
            circle: Mm(rc),
            foot: Mm((rc - dc / 2.0 + 0.08 - 1.72) / ta),
            top: Mm(zg + 0.025 * d + 0.7 * 0.145 * d),
        },
        opening: OpeningShape {
            width: Mm(2.5),
            bottom: Mm(0.8),
            top: Mm(2.05),
            corner: Mm(0.5),
            stop: Mm(0.75),
        },
        left: Some(j.clone()),
        right: Some(j),
    }
}
fn main() {
    for _ in 0..2 {
        let t = std::time::Instant::now();
        let r = Solid::build_with_effort(&a().tree());
        println!("{:?}", t.elapsed());
        match r {
            Ok((s, e)) => {
                println!(
                    "faces {} edges {} verts {} genus {} {:?}",
                    s.faces.len(),
                    s.edges.len(),
                    s.vertices.len(),
                    s.genus(),
                    e
                );
                let t = std::time::Instant::now();
                let tr = s.to_truck();
                println!("truck {:?} {:?}", tr.as_ref().err(), t.elapsed());
                std::fs::write("/tmp/a.step", colletline::masters::step::write(&s, "link")).unwrap();
                std::fs::write("/tmp/a.json", a().tree().to_json().to_string()).unwrap();
                let mut n: Vec<_> = s.faces.iter().map(|f| f.name.clone()).collect();
                n.sort();
            }
            Err(e) => println!("{e:?}"),
        }
    }
}
#[allow(dead_code)]
pub fn write() {}
