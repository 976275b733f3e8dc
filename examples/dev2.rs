use colletline::parts::link::*;

use colletline::units::*;
struct R(u64);
impl R {
    fn u(&mut self, a: f64, b: f64) -> f64 {
        self.0 = self.0.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        a + (b - a) * ((self.0 >> 33) as f64 / (1u64 << 31) as f64)
    }
}
fn rnd(i: u64) -> LinkShape {
    let mut r = R(i * 7919 + 13);
    for _ in 0..5 {
        r.u(0.0, 1.0);
    }
    let d = (r.u(1.5, 6.0) * 20.0).round() / 20.0;
    let q = |x: f64| (x * 100.0).round() / 100.0;
    let w = q(d + r.u(0.0, 0.2));
    let m = q(r.u(0.2, 0.35));
    let dc = q((0.18 * d + 0.25 + r.u(-0.06, 0.06)).max(0.5));
    let h = q(1.5 + 0.3 * d + r.u(-0.2, 0.3));
    let rb = q(w / 2.0 - h * r.u(0.05, 0.15));
    let wall = q(r.u(0.38, 0.55));
    let tana = (w / 2.0 - rb) / h;
    let bur = if r.u(0.0, 1.0) < 0.7 { 90.0 } else { q(r.u(82.0, 98.0)) };
    let zg = h + (d / 2.0 - w / 2.0 + m) / (bur / 2.0f64).to_radians().tan();
    let rc = 2f64.sqrt() * (w / 2.0 - dc / 2.0);
    let dw = q(0.13 * w + 0.02);
    let wb = q(dw + 0.05);
    let tf = q(0.76 * dw);
    let dg = q(tf + 0.03);
    let wf = 3.14159 * dw * dw / 4.0 / tf;
    let hw = q(r.u(0.45, 0.62));
    let a = wall * (1.0 + tana * tana).sqrt();
    let re = q((a * 0.43).min(hw * 0.49).min(a * 0.49) * r.u(0.3, 1.0));
    let j = LoopJoint {
        bore_width: Mm(wb),
        bore_height: Mm(if r.u(0.0, 1.0) < 0.2 { wb } else { q(wb * 1.25) }),
        groove_depth: Mm(dg),
        groove_width: Mm(q(wf + 0.06)),
        web_height: Mm(hw),
        web_edge: Mm(re),
    };
    let mut s = LinkShape {
        foot_radius: Mm(rb),
        rim_radius: Mm(w / 2.0),
        height: Mm(h),
        wall: Mm(wall),
        rim_land: Mm(m),
        bur_angle: Deg(bur),
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
            foot: Mm(((rc - dc / 2.0 + 0.08 - rb) / tana).max(0.3)),
            top: Mm(zg + 0.025 * d + 0.7 * 0.145 * d),
        },
        opening: OpeningShape {
            width: Mm(0.0),
            bottom: Mm(0.0),
            top: Mm(0.0),
            corner: Mm(0.0),
            stop: Mm(0.0),
        },
        left: Some(j.clone()),
        right: Some(j),
    };
    let zs = s.seat_foot().0.0;
    let z1 = q(r.u(0.6, 0.9));
    let z2 = q(zs - r.u(0.35, 0.5));
    let bur_d = q(r.u(0.4, 1.0)).min(z2 - z1);
    let ys = q(wb / 2.0 + r.u(0.25, 0.45));
    let rz1 = rb + tana * z1;
    let wo = q(2.0 * ((rz1 * rz1 - ys * ys).max(0.01).sqrt() - r.u(0.38, 0.6)));
    s.opening = OpeningShape {
        width: Mm(wo),
        bottom: Mm(z1),
        top: Mm(z2),
        corner: Mm((bur_d / 2.0).min(wo / 2.0)),
        stop: Mm(ys),
    };
    if r.u(0.0, 1.0) < 0.15 {
        s.left = None
    }
    s
}
fn main() {
    let a: Vec<u64> = std::env::args().skip(1).map(|a| a.parse().unwrap_or(1)).collect();
    std::fs::create_dir_all("/tmp/rl").unwrap();
    let mut times = vec![];
    let (mut ok, mut bad, mut skip) = (0, 0, 0);
    for i in a[0]..a[1] {
        let s = rnd(i);
        if s.opening.width.0 < 0.5
            || s.opening.top.0 - s.opening.bottom.0 < 0.4
            || s.claw.foot.0 > s.height.0 - 0.3
        {
            skip += 1;
            continue;
        }
        let tree = s.tree();
        let t = std::time::Instant::now();
        let r = build(&s).map(|b| {
            if !b.easings.is_empty() {
                println!("{i} eased {:?}", b.easings)
            }
            (b.solid, b.effort)
        });
        let e = t.elapsed().as_secs_f64() * 1e3;
        times.push(e);
        match r {
            Ok((b, f)) => {
                ok += 1;
                if f.retries.len() > 2 {
                    println!("{i} ok {e:.0} ms retries {} {:?}", f.retries.len(), f.retries)
                }
                if let Err(e) = b.to_truck() {
                    println!("{i} TRUCK {e}")
                }
                if a.len() > 2 {
                    std::fs::write(format!("/tmp/rl/{i}.json"), tree.to_json().to_string()).unwrap();
                    std::fs::write(format!("/tmp/rl/{i}.step"), colletline::masters::step::write(&b, "link"))
                        .unwrap();
                }
            }
            Err(x) => {
                bad += 1;
                println!("{i} BAD {e:.0} ms {x}")
            }
        }
    }
    times.sort_by(f64::total_cmp);
    println!(
        "ok {ok} bad {bad} skip {skip} median {:.1} max {:.1}",
        times[times.len() / 2],
        times[times.len() - 1]
    );
}
