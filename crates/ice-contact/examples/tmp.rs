use ice_contact::contact::*; use ice_contact::runner::*; use ice_contact::tables::direct; use ice_contact::patches::Contact;
fn main(){
  if std::env::args().nth(1).as_deref()==Some("t") { for bow in [1.0,2.0,3.0,4.0,6.0] { let t0=std::time::Instant::now(); let ice=IceState::at_temperature(-4.0,0.25);
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
