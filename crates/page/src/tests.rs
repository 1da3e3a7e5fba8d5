//! Requests asked of the page without a socket.

use crate::asked::{AskedFile, AskedSetup, LONGEST_SETUP};
use crate::assets::{OWN, library};
use crate::controls::{all, values};
use crate::curves::{curves, gap_at_s};
use crate::desk::{Desk, Given};
use crate::ridden::Ridden;
use crate::rough::{QUICK, ROUGH_TRACE_M, rough};
use crate::routes::routes;
use axum::body::Body;
use axum::http::{Request, Response, StatusCode};
use serde_json::{Value, json};
use sled_dynamics::motion::precision::Detail;
use std::sync::{Arc, OnceLock};
use sweep_runner::rides::ensemble::{RIDES, rides};
use sweep_runner::rides::prepared::Attempt;
use tower::ServiceExt;
use track_geometry::track::Track;
use track_geometry::track_file::read_track;

const PORT: u16 = 4567;
const SETUP: &str = include_str!("../../../examples/clubs-woman.toml");

fn track() -> Track {
    let read = read_track(
        "track.toml",
        include_str!("../../../tracks/quillmere/track.toml"),
        "stations.csv",
        include_str!("../../../tracks/quillmere/stations.csv"),
    );
    Track::new(read.unwrap().track).unwrap()
}

fn desk() -> Arc<Desk> {
    Desk::new(Given {
        track: track(),
        setup: AskedFile { name: "clubs-woman.toml".into(), text: SETUP.into() },
        sets: vec![],
        plan: Box::new(|ready, lag_s| ready.plan(lag_s, None).map_err(|e| e.to_string())),
        evenings: Arc::new(|_, _, _| Err("no evening in these tests".into())),
        readings: Arc::new(|_| Err("no readings in these tests".into())),
        evening_plan: String::new(),
        design_speeds: Arc::new(|_, _| Err("no speeds in these tests".into())),
        pairs: Arc::new(|_| Err("no runners in these tests".into())),
        left_alone: Arc::new(|_| vec!["no sled in these tests".into()]),
        analyses: Arc::new(|_| Err("no analysis in these tests".into())),
        calibrations: Arc::new(|_, _| Err("no sheets in these tests".into())),
        trial_plans: Arc::new(|_, _| Err("no trials in these tests".into())),
        cautions: vec!["Speed injures.".into()],
        version: "test".into(),
    })
}

async fn answer(desk: &Arc<Desk>, request: Request<Body>) -> (StatusCode, Response<Body>) {
    let response = routes(Arc::clone(desk), PORT).oneshot(request).await.unwrap();
    (response.status(), response)
}

async fn text(response: Response<Body>) -> String {
    let bytes = axum::body::to_bytes(response.into_body(), 16 << 20).await.unwrap();
    String::from_utf8(bytes.to_vec()).unwrap()
}

fn from_page(method: &str, path: &str) -> axum::http::request::Builder {
    let own = format!("127.0.0.1:{PORT}");
    let origin = format!("http://{own}");
    Request::builder()
        .method(method)
        .uri(path)
        .header("host", own)
        .header("origin", origin)
        .header("content-type", "application/json")
}

fn asked(sets: &[(&str, &str)]) -> Value {
    json!({ "file": null, "sets": sets, "skill": "club" })
}

fn question(number: u64, sets: &[(&str, &str)]) -> Value {
    let (here, pinned) = (asked(sets), asked(&[]));
    json!({ "window": "w", "number": number, "here": here, "pinned": pinned, "rides": 6, "seed": 1 })
}

#[tokio::test]
async fn exact_only_the_page_itself_is_answered() {
    let desk = desk();
    let strange: [(&str, &str, &str, &str); 5] = [
        ("GET", "evil.example", "http://127.0.0.1:4567", "application/json"),
        ("GET", "127.0.0.1:4568", "http://127.0.0.1:4567", "application/json"),
        ("POST", "127.0.0.1:4567", "http://evil.example", "application/json"),
        ("POST", "127.0.0.1:4567", "null", "application/json"),
        ("POST", "127.0.0.1:4567", "http://127.0.0.1:4567", "text/plain"),
    ];
    for (method, host, origin, kind) in strange {
        let request = Request::builder()
            .method(method)
            .uri(if method == "GET" { "/" } else { "/api/rough" })
            .header("host", host)
            .header("origin", origin)
            .header("content-type", kind);
        let (status, response) = answer(&desk, request.body(Body::empty()).unwrap()).await;
        assert_eq!(status, StatusCode::FORBIDDEN, "{host} {origin} {kind}");
        assert!(text(response).await.starts_with("{\"error\":"));
    }
    let (status, response) = answer(&desk, from_page("GET", "/").body(Body::empty()).unwrap()).await;
    assert_eq!(status, StatusCode::OK);
    let policy = response.headers()["content-security-policy"].to_str().unwrap().to_string();
    assert!(policy.starts_with("default-src 'self';") && !policy.contains("unsafe-eval"), "{policy}");
    let page = text(response).await;
    assert!(page.contains("Speed injures."), "the caution stands on the page");
    // no script and no style stands in the text itself, and nothing comes from elsewhere
    for inline in ["<script>", "<style", "onclick=", "style=\"", "http://", "https://"] {
        assert!(!page.contains(inline), "{inline}");
    }
}

#[tokio::test]
async fn exact_every_fault_is_a_sentence() {
    let desk = desk();
    let long = "x".repeat(LONGEST_SETUP + 1);
    let mut bodies: Vec<(String, &str)> = vec![
        (String::new(), "cannot be read"),
        ("{".into(), "cannot be read"),
        ("[1e999]".into(), "cannot be read"),
        (json!({ "window": "w" }).to_string(), "missing field"),
        (question(1, &[("runners.bow_mm", "99")]).to_string(), "allowed: 0 to 8 mm"),
        (question(1, &[("runners.bow_mm", "NaN")]).to_string(), "runners.bow_mm"),
        (question(1, &[("runners.baw_mm", "1")]).to_string(), "runners.bow_mm"),
        (question(1, &[("runners.bow_mm", "8"), ("runners.yield_stress_mpa", "100")]).to_string(), "yield"),
    ];
    for (key, value, said) in [
        ("rides", json!(5), "allowed are 6 to 2000"),
        ("rides", json!(1_000_000_000), "rides"),
        ("window", json!("../x"), "letters"),
        ("number", json!(-1), "cannot be read"),
        ("extra", json!(1), "unknown field"),
    ] {
        let mut q = question(1, &[]);
        q[key] = value;
        bodies.push((q.to_string(), said));
    }
    let mut q = question(1, &[]);
    q["here"]["skill"] = json!("champion");
    bodies.push((q.to_string(), "novice, club, national, elite"));
    q = question(1, &[]);
    q["here"]["file"] = json!({ "name": "a.toml", "text": long });
    bodies.push((q.to_string(), "allowed are 65536"));
    for (body, said) in bodies {
        for path in ["/api/rough", "/api/full"] {
            let request = from_page("POST", path).body(Body::from(body.clone())).unwrap();
            let (status, response) = answer(&desk, request).await;
            let text = text(response).await;
            let told: Value = serde_json::from_str(&text).unwrap();
            assert!(status.is_client_error(), "{body}: {status}");
            let why = told["error"].as_str().unwrap();
            assert!(why.contains(said), "{body}: {why}");
        }
    }
    for (method, path, status) in [
        ("GET", "/nowhere", StatusCode::NOT_FOUND),
        ("POST", "/", StatusCode::METHOD_NOT_ALLOWED),
        ("GET", "/api/answer?window=w", StatusCode::UNPROCESSABLE_ENTITY),
        ("GET", "/api/answer?window=w&number=x&since=0", StatusCode::UNPROCESSABLE_ENTITY),
        ("POST", "/api/rough", StatusCode::PAYLOAD_TOO_LARGE),
    ] {
        let body = if status == StatusCode::PAYLOAD_TOO_LARGE { "x".repeat(300_000) } else { String::new() };
        let (got, response) = answer(&desk, from_page(method, path).body(Body::from(body)).unwrap()).await;
        assert_eq!(got, status, "{method} {path}");
        assert!(text(response).await.starts_with("{\"error\":"), "{method} {path}");
    }
}

#[tokio::test]
async fn exact_lines_sheets_and_trials_are_refused_in_a_sentence() {
    let desk = desk();
    let here = asked(&[]);
    let line = |text: &str| json!({ "here": here, "line": text, "what_if": "" });
    let sheet = |text: &str| {
        json!({
            "here": here, "name": "a.csv", "sheet": text, "fit": "drag", "skill": "", "spread": "", "spread_of_sheet": false,
            "trap_at": "", "only": "", "leave_out": [], "keep_good_rows": false,
        })
    };
    let long = "x".repeat(140_000);
    let trial = json!({
        "here": here, "runs": "6", "spread": "", "difference": "", "difference_sd": "", "worth": "",
        "questions": &long[..70_000],
    });
    let analysis = |text: &str, prior: &str| {
        json!({
            "name": "a.csv", "sheet": text, "a": "", "b": "", "athlete": "", "prior": prior, "prior_sd": "",
            "keep_good_rows": false,
        })
    };
    for (path, body, said) in [
        ("/api/place", json!({ "here": here, "pinned": here, "corner": "99" }), "allowed are 1, 2, 3"),
        ("/api/line", line("corner,position,offset_m\n6,entry,0\n"), "not there yet: wait for it"),
        ("/api/line", line(&long[..70_000]), "70000 bytes; allowed are 65536"),
        ("/api/calibration", sheet(" \n"), "no timing sheet"),
        ("/api/calibration", sheet(&long), "140000 bytes; allowed are 131072"),
        ("/api/analysis", analysis(" ", ""), "no timing sheet"),
        ("/api/analysis", analysis("run,finish\n", "-0.05"), "needs two numbers"),
        (
            "/api/left-alone",
            json!({ "files": [{ "name": "list", "text": "name = 1" }] }),
            "a track without faults",
        ),
        ("/api/trial", trial, "70000 bytes; allowed are 65536"),
    ] {
        let request = from_page("POST", path).body(Body::from(body.to_string())).unwrap();
        let (status, response) = answer(&desk, request).await;
        let told: Value = serde_json::from_str(&text(response).await).unwrap();
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{path}");
        assert!(told["error"].as_str().unwrap().contains(said), "{path}: {told}");
    }
}

#[test]
fn exact_sliders_lie_within_the_limits_of_their_keys() {
    let mut seen = 0;
    for c in all() {
        seen += 1;
        let (_, least, most, doc) = c.limits().expect("a key that takes a number");
        let [from, to, step] = c.slider;
        assert!(least <= from && from < to && to <= most && step > 0.0 && step < to - from, "{}", c.key);
        assert!(!doc.is_empty());
    }
    assert_eq!(seen, 17);
    let setup = sled_dynamics::setup::file::read_setup("a.toml", SETUP, &[]).unwrap();
    let values = values(&setup);
    // as in the file, in the units of the file
    assert_eq!(values["runners.bow_mm"], json!(3.5));
    assert_eq!(values["sled.balance_point_mm"], json!(-5.0));
    assert_eq!(values["air.pressure_hpa"], Value::Null);
}

#[test]
fn exact_the_chart_library_is_one_script() {
    let text = library();
    assert!(text.len() > 1_000_000 && text.contains("plotly.js v"));
    assert!(!text.contains("<script") || text.rfind("</script>").is_none());
    assert!(!text.to_lowercase().contains("mathjax tex-svg"));
    assert!(
        OWN.iter().all(|a| !a.text.contains("innerHTML")),
        "text of files never becomes part of the page's code"
    );
}

/// The example on Quillmere, planned once for all tests.
fn known() -> &'static (Arc<Desk>, Arc<Ridden>) {
    static KNOWN: OnceLock<(Arc<Desk>, Arc<Ridden>)> = OnceLock::new();
    KNOWN.get_or_init(|| {
        let desk = desk();
        let sled = desk.sled(&AskedSetup { file: None, sets: vec![], skill: "club".into() }).unwrap();
        let ridden = Ridden::new(&desk.given.track, &sled, &*desk.given.plan, &|| ()).unwrap();
        (desk, Arc::new(ridden))
    })
}

#[test]
fn exact_the_same_sled_is_no_rough_answer() {
    let (desk, ridden) = known();
    let quick = rough(&desk.given.track, &ridden.sled, Some(ridden)).unwrap();
    // the same plan, tables and numbers; the quick precision is good to 0.01 ms on a ride without walls
    let off_s = quick.descent.finish_time_s.unwrap() - ridden.descent.finish_time_s.unwrap();
    assert!(off_s.abs() < 2e-5, "{off_s}");
    let ready = ridden.prepared(&desk.given.track).unwrap();
    let same = ready.descent(&Attempt::perfect(), QUICK, Detail::Trace(ROUGH_TRACE_M));
    assert_eq!(quick.descent, same);
    // drawn as densely as the full one
    let rows = |d| curves(d, None)["station_m"].as_array().unwrap().len();
    let (few, many) = (rows(&quick.descent), rows(&ridden.descent));
    assert!(few.abs_diff(many) <= 1 && many > 500, "{few} {many}");
}

#[test]
fn exact_rides_by_corner_are_the_rides_of_compare() {
    let (desk, ridden) = known();
    let ready = ridden.prepared(&desk.given.track).unwrap();
    ridden.ride_on(&ready, 1, 6);
    // reading the corners on the way moves no ride
    let bare = rides(&ready, &ridden.sled.skill, 1, 0..6, RIDES);
    assert_eq!(ridden.rides(1, 6).rides, bare);
    let band = ridden.load_band(1, 6, "6").unwrap();
    let [low, middle, high] = band.greatest_g_load;
    assert!(band.rides <= 6 && low <= middle && middle <= high && low > 1.0, "{band:?}");
    assert!(ridden.load_band(2, 6, "6").is_none(), "rides of another seed are not known");
}

#[test]
fn exact_a_rough_answer_is_near() {
    let (desk, ridden) = known();
    let track = &desk.given.track;
    for (key, value, near_s) in [
        // no more than 20 ms from the planned ride: the plan of a neighbour loses little
        ("sled.ballast_kg", "3", 0.02),
        ("air.taping_factor", "0.98", 0.02),
        // other runners or ice, by five contacts: measured 0.021 and 0.006 s; the page marks them rough
        ("runners.bow_mm", "3", 0.04),
        ("ice.temperature_c", "-9", 0.02),
    ] {
        let sets = vec![(key.to_string(), value.to_string())];
        let sled = desk.sled(&AskedSetup { file: None, sets, skill: "club".into() }).unwrap();
        let quick = rough(track, &sled, Some(ridden)).unwrap().descent.finish_time_s.unwrap();
        let full = Ridden::new(track, &sled, &*desk.given.plan, &|| ()).unwrap();
        let off_s = quick - full.descent.finish_time_s.unwrap();
        let moved_s = full.descent.finish_time_s.unwrap() - ridden.descent.finish_time_s.unwrap();
        assert!(off_s.abs() < near_s, "{key}: {off_s} of {moved_s}");
        // the curve of the gap ends at the difference of the times, to a straight line between rows half a metre apart
        let end_m = full.to_finish.trace.last().unwrap().station_m;
        let gap_s = gap_at_s(&full.to_finish, &ridden.to_finish, end_m).unwrap();
        assert!((gap_s - moved_s).abs() < 1e-4, "{key}: {gap_s} {moved_s}");
        // better than no answer: nearer than the ride before
        assert!(off_s.abs() < moved_s.abs(), "{key}: {off_s} of {moved_s}");
    }
}
