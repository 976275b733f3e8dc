use colletline::solid::{*, tree::*};
use nalgebra::*;
fn bar_along(d: Vector3<f64>, r: f64, back: f64, ahead: f64, name: &str) -> Tree {
    cylinder(Frame::along(Point3::from(d.normalize() * -back), &d), r, back + ahead, name, ["low","high"])
}
fn main(){
  let (r,l)=(0.8,6.0);
  let block = |name| bar_along(Vector3::y(), 2.0, 1.5, 1.5, name);
  let through = |a: f64| bar_along(Vector3::new(libm::sin(a), 0.0, libm::cos(a)), r, l / 2.0, l / 2.0, "bore");
  for t in [block("block").minus(vec![through(0.3), through(0.3 + 1.5707963)]), bar_along(Vector3::z(),1.,3.,3.,"run").plus(vec![bar_along(Vector3::x(),1.,0.,3.,"branch")])] {
    let s = Solid::build(&t).unwrap();
    println!("V {} E {} F {} L {}", s.vertices.len(), s.edges.len(), s.faces.len(), s.faces.iter().map(|f|f.loops.len()).sum::<usize>());
    for f in &s.faces { println!("{} {} loops {:?}", f.name, f.surface.kind(), f.loops.iter().map(|l|l.iter().map(|u| (u.edge, s.start_of(*u))).collect::<Vec<_>>()).collect::<Vec<_>>()); }
    for (i,e) in s.edges.iter().enumerate() { println!("{i} {:?} {} {:?}-{:?}", e.ends, e.curve.kind(), e.curve.start().coords.as_slice(), e.curve.end().coords.as_slice()); }
  }
}
