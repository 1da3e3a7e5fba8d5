use ice_contact::contact::*; use ice_contact::runner::*; use ice_contact::tables::direct; use ice_contact::patches::Contact;
fn sums(t:&ice_contact::tables::Touch<f64>)->(f64,f64,f64,f64){ let l:f64=t.points.iter().map(|p|p.load_n).sum(); let pl:f64=t.points.iter().map(|p|p.load_n*p.plough).sum::<f64>()/l;
  let kk:f64=t.points.iter().map(|p|p.load_n*p.stiffness).sum(); let kx:f64=t.points.iter().map(|p|p.load_n*p.stiffness*p.at_m).sum();
  let hold=|deg:f64| -> f64 { t.points.iter().map(|p|2.0*p.at_m*p.force_n(f64::tan(deg.to_radians()),1.0).1).sum() }; (t.film_friction+pl,-1e3*kx/kk,hold(1.0), t.points.iter().map(|p|p.load_n*p.saturation).sum::<f64>()/l)}
fn main(){
  if std::env::args().nth(1).as_deref()==Some("e") { let ice=IceState::at_temperature(-4.0,0.25);
   for bow in [0.4,1.0,1.5,2.0,2.5,3.0,3.5,4.0,5.0,6.0,8.0] { let b=Bow::even(bow*1e-3); let r=RunnerSpec::default();
    let t0=std::time::Instant::now(); let t=ice_contact::tables::RunnerTable::build(&r,b,&ice).unwrap(); let el=t0.elapsed();
    let mut s=ContactSolver::new(&r,b,&ice).unwrap();
    for (g,k) in [(1.0,0.0),(2.0,0.02),(4.0,1.0/26.0)] { print!("9| bow {bow} g {g} {:.1}s {}: ",el.as_secs_f64(),t.built.left_out);
     for c in [-0.06,-0.02,0.0,0.01,0.03,0.08] { s.forget(); let o=s.solve(Demand{load_n:g*579.0,ice_curvature_per_m:k,centroid_m:c}); let d=sums(&direct(&s,&r,b,&ice,30.0).unwrap()); let q=sums(&t.look(g*579.0,k,c,30.0));
      print!("[{}{:.4}/{:.4} {:.0}/{:.0} {:.2}/{:.2}] ",if o.is_balanced(){""}else{"F"},d.0,q.0,d.1,q.1,d.2,q.2); } println!(); } } return; }
  if std::env::args().nth(1).as_deref()==Some("f") { let bow: f64=std::env::args().nth(2).unwrap().parse().unwrap(); let ice=IceState::at_temperature(-4.0,0.25);
   let mut s=ContactSolver::new(&RunnerSpec::default(),Bow::even(bow*1e-3),&ice).unwrap();
   for k in [0.0,0.01,0.02,0.03,0.04,0.06,0.08] { for cx in [-0.25,-0.12,-0.05,0.0,0.05,0.12,0.25] { print!("9| k {k:.2} c {cx:5.2}: "); for n in [20.0,60.0,150.0,300.0,580.0,1000.0,1500.0,2400.0,3600.0,6000.0] { s.forget(); let t0=std::time::Instant::now(); let o=s.solve(Demand{load_n:n,ice_curvature_per_m:k,centroid_m:cx}); print!("{:>7}", format!("{}{}/{:.0}", if o.is_balanced(){""}else{"F"}, s.steps, t0.elapsed().as_secs_f64()*1e3)); } println!(); } } return; }
  if std::env::args().nth(1).as_deref()==Some("t") { for bow in [4.0] { let t0=std::time::Instant::now(); let ice=IceState::at_temperature(-4.0,0.25);
    let t=ice_contact::tables::RunnerTable::build(&RunnerSpec::default(),Bow::even(bow*1e-3),&ice).unwrap(); println!("9| {bow} {:?} {:?}",t0.elapsed(),t.built);} return; }
  let arg = |i:usize,d:f64| std::env::args().nth(i).and_then(|s|s.parse().ok()).unwrap_or(d);
  let uneven=arg(1,30.0); let wave=arg(2,100.0); let edge=arg(3,0.3); let gw=arg(4,1.0); let gs=arg(5,0.0);
  for (g,k) in [(1.0,0.0),(2.5,1.0/50.0),(4.0,1.0/26.0)] {
    println!("g {g} k {k:.4}: bow  film  plough  total | span Leff groove outside | margin hold1deg hold3deg N m sat | updates steps outcome us");
    for bow in [0.0,0.4,0.8,1.0,1.5,2.0,2.5,3.0,3.5,4.0,5.0,6.0,7.0,8.0] {
      let runner=RunnerSpec{groove_edge_radius_m:edge*1e-3,groove_width_m:gw*1e-3,groove_start_m:gs*1e-3,..RunnerSpec::default()};
      let ice=IceState{unevenness_m:uneven*1e-6,wave_m:wave*1e-3,..IceState::at_temperature(-4.0,0.25)};
      let b=Bow::even(bow*1e-3);
      let mut s=ContactSolver::new(&runner,b,&ice).unwrap();
      let t0=std::time::Instant::now();
      let o=s.solve(Demand{load_n:g*579.0,ice_curvature_per_m:k,centroid_m:0.0});
      let t=t0.elapsed().as_micros();
      let touch=direct(&s,&runner,b,&ice,30.0).unwrap();
      let c=Contact::of(&s,&runner);
      let pl:f64=touch.points.iter().map(|p|p.load_n*p.plough).sum::<f64>()/(g*579.0);
      let kk:f64=touch.points.iter().map(|p|p.load_n*p.stiffness).sum(); let kx:f64=touch.points.iter().map(|p|p.load_n*p.stiffness*p.at_m).sum();
      let hold=|deg:f64| -> f64 { touch.points.iter().map(|p|2.0*p.at_m*p.force_n(f64::tan(deg.to_radians()),1.0).1).sum() };
      let sat:f64=touch.points.iter().map(|p|p.load_n*p.saturation).sum::<f64>()/(g*579.0);
      println!("{bow:4.1} {:.4} {:.4} {:.4} | {:.3} {:.3} {:.2} {:.2} | {:6.1}mm {:6.2} {:6.2} {:.3} | {} {} {:?} {t}",touch.film_friction,pl,touch.film_friction+pl,c.touch_span_m,c.effective_length_m,c.groove_share,c.outside_share,-1e3*kx/kk,hold(1.0),hold(3.0),sat,0,s.steps,o);
    }
  }
}
