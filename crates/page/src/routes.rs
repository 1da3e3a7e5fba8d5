//! Addresses, and what is answered there.

use crate::asked::{Asked, AskedFile, AskedSetup, read, window};
use crate::assets::{LIBRARY, OWN, library};
use crate::contact_told::{AskedContact, contact_told};
use crate::controls::values;
use crate::desk::Desk;
use crate::evening::{AskedEvening, EveningTexts};
use crate::evidence::{AskedAnalysis, AskedCalibration, AskedTrial};
use crate::guard::{LARGEST_BODY, Names, guard, refusal};
use crate::ice_told::{AskedIce, ice_told};
use crate::line_told::{AskedLine, AskedPlace, line_told, place_told};
use crate::markup::page;
use crate::track_checked::{AskedTrack, track_checked, track_warned};
use crate::track_told::track_told;
use axum::Router;
use axum::body::Bytes;
use axum::extract::{DefaultBodyLimit, Query, State};
use axum::http::{StatusCode, header};
use axum::middleware::from_fn_with_state;
use axum::response::{Html, IntoResponse, Response};
use axum::routing::{get, post};
use serde::Deserialize;
use serde_json::{Value, json};
use sled_dynamics::setup::write::write_setup;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::Semaphore;

/// Quick answers at a time; a window has one in hand.
const QUICK: usize = 4;
/// How long a window waits for news before it asks again.
const PATIENCE: Duration = Duration::from_secs(15);

/// What the addresses share.
#[derive(Clone)]
struct Shared {
    desk: Arc<Desk>,
    quick: Arc<Semaphore>,
    alone: Arc<Semaphore>,
}

/// All addresses of the page on a port.
pub(crate) fn routes(desk: Arc<Desk>, port: u16) -> Router {
    let mut router = Router::new()
        .route("/", get(first))
        .route("/api/track", get(track))
        .route("/api/rough", post(rough))
        .route("/api/full", post(full))
        .route("/api/answer", get(answer))
        .route("/api/contact", post(contact))
        .route("/api/ice", post(ice))
        .route("/api/check-track", post(check_track))
        .route("/api/left-alone", post(left_alone))
        .route("/api/evening", get(evening).post(begin_evening))
        .route("/api/evening/stop", post(stop_evening))
        .route("/api/readings", post(readings))
        .route("/api/calibration", get(calibration).post(begin_calibration))
        .route("/api/analysis", post(analysis))
        .route("/api/trial", post(trial))
        .route("/api/place", post(place))
        .route("/api/line", get(line).post(begin_line))
        .route("/evening-sheet", get(sheet))
        // the sheet names no icon, and a browser asks for one
        .route("/favicon.ico", get(|| async { StatusCode::NO_CONTENT }))
        .route("/api/setup", post(setup))
        .route("/api/pairs", post(pairs))
        .route("/api/save", post(save))
        .route("/api/trace", post(trace))
        .route(LIBRARY, get(|| async { script_of(library()) }));
    for asset in OWN {
        router = router.route(
            asset.path,
            get(move || async move { ([(header::CONTENT_TYPE, asset.kind)], asset.text) }),
        );
    }
    router
        .fallback(|| async { StatusCode::NOT_FOUND })
        .layer(DefaultBodyLimit::max(LARGEST_BODY))
        .layer(from_fn_with_state(Names::on(port), guard))
        .with_state(Shared {
            desk,
            quick: Arc::new(Semaphore::new(QUICK)),
            alone: Arc::new(Semaphore::new(1)),
        })
}

fn script_of(text: &'static str) -> Response {
    let kind = (header::CONTENT_TYPE, "text/javascript; charset=utf-8");
    ([kind, (header::CACHE_CONTROL, "max-age=3600")], text).into_response()
}

fn told(answer: Result<Value, String>) -> Response {
    match answer {
        Ok(value) => axum::Json(value).into_response(),
        Err(why) => refusal(StatusCode::UNPROCESSABLE_ENTITY, &why),
    }
}

/// Computes off the threads that serve; one that fails there is refused, and the page goes on.
async fn computed<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, String> + Send + 'static,
) -> Result<T, String> {
    let failed = "this could not be computed: the numbers may lie where the model does not hold";
    tokio::task::spawn_blocking(work).await.unwrap_or_else(|_| Err(failed.into()))
}

async fn first(State(shared): State<Shared>) -> Response {
    let asked = AskedSetup { file: None, sets: shared.desk.given.sets.clone(), skill: "club".into() };
    match shared.desk.sled(&asked) {
        Ok(sled) => Html(page(&shared.desk.given, &sled.setup).into_string()).into_response(),
        Err(why) => refusal(StatusCode::UNPROCESSABLE_ENTITY, &why),
    }
}

async fn track(State(shared): State<Shared>) -> Response {
    told(computed(move || Ok(track_told(&shared.desk.given.track))).await)
}

async fn rough(State(shared): State<Shared>, body: Bytes) -> Response {
    let asked = match read::<Asked>(&body).and_then(|a| a.check().map(|()| a)) {
        Ok(asked) => asked,
        Err(why) => return told(Err(why)),
    };
    // noted before the wait for a place, so that the older ones find out there
    if !shared.desk.is_newest(&asked.window, asked.number) {
        return told(Ok(json!({ "superseded": true })));
    }
    let Ok(place) = shared.quick.acquire_owned().await else {
        return told(Err("the page is closing".into()));
    };
    let desk = shared.desk;
    let answer = computed(move || {
        let answer = desk.quick(&asked);
        drop(place);
        answer
    });
    told(answer.await.map(|a| a.unwrap_or_else(|| json!({ "superseded": true }))))
}

async fn full(State(shared): State<Shared>, body: Bytes) -> Response {
    let asked = read::<Asked>(&body).and_then(|a| a.check().map(|()| a));
    told(asked.and_then(|a| {
        let number = a.number;
        shared.desk.ask(a).map(|()| json!({ "number": number }))
    }))
}

/// What news a window waits for.
#[derive(Deserialize)]
struct News {
    window: String,
    number: u64,
    since: u64,
}

async fn answer(
    State(shared): State<Shared>,
    query: Result<Query<News>, axum::extract::rejection::QueryRejection>,
) -> Response {
    let Ok(Query(news)) = query else {
        return told(Err("asked for are window, number and since".into()));
    };
    if let Err(why) = window(&news.window) {
        return told(Err(why));
    }
    let found = shared.desk.answer(&news.window, news.number, news.since, PATIENCE).await;
    told(Ok(found.unwrap_or_else(|| json!({ "version": news.since, "told": null }))))
}

/// A file read as a set-up: its values at the controls.
async fn setup(State(shared): State<Shared>, body: Bytes) -> Response {
    told(read::<AskedFile>(&body).and_then(|file| {
        let asked = AskedSetup { file: Some(file), sets: vec![], skill: "club".into() };
        let sled = shared.desk.sled(&asked)?;
        Ok(json!({ "name": sled.setup.name, "values": values(&sled.setup) }))
    }))
}

/// The pairs of a runner library.
async fn pairs(State(shared): State<Shared>, body: Bytes) -> Response {
    told(read::<AskedFile>(&body).and_then(|file| (shared.desk.given.pairs)(&file)).map(|pairs| json!(pairs)))
}

/// The runners on the ice at a station of the planned ride; null until it is there.
async fn contact(State(shared): State<Shared>, body: Bytes) -> Response {
    let asked = read::<AskedContact>(&body).and_then(|a| Ok((shared.desk.sled(&a.here)?, a.station_m)));
    let (sled, station_m) = match asked {
        Ok(asked) => asked,
        Err(why) => return told(Err(why)),
    };
    let desk = shared.desk;
    let work = move || {
        let known = desk.find(&sled.key());
        known.map_or(Ok(Value::Null), |r| contact_told(&desk.given.track, &r, station_m))
    };
    told(computed(work).await)
}

/// A stretch of the ice, and the lines on it that are known.
async fn ice(State(shared): State<Shared>, body: Bytes) -> Response {
    let desk = shared.desk;
    let asked =
        read::<AskedIce>(&body).and_then(|a| Ok((desk.sled(&a.here)?.key(), desk.sled(&a.pinned)?.key(), a)));
    let work = move || {
        let (here, pinned, asked) = asked?;
        let (here, pinned) = (desk.find(&here), desk.find(&pinned));
        ice_told(&desk.given.track, &asked, here.as_deref(), pinned.as_deref())
    };
    told(computed(work).await)
}

/// A track as dropped or typed.
async fn check_track(State(shared): State<Shared>, body: Bytes) -> Response {
    let speeds = Arc::clone(&shared.desk.given.design_speeds);
    told(computed(move || read::<AskedTrack>(&body).and_then(|asked| track_checked(&asked, &*speeds))).await)
}

/// What a sled left alone does on such a track; one track at a time, since its runners are solved for it.
async fn left_alone(State(shared): State<Shared>, body: Bytes) -> Response {
    let Ok(place) = shared.alone.acquire_owned().await else {
        return told(Err("the page is closing".into()));
    };
    let ride = Arc::clone(&shared.desk.given.left_alone);
    let work = move || {
        let warned = read::<AskedTrack>(&body).and_then(|asked| track_warned(&asked, &*ride));
        drop(place);
        warned
    };
    told(computed(work).await)
}

/// The texts of an evening as asked.
fn texts(shared: &Shared, body: &[u8]) -> Result<EveningTexts, String> {
    let asked = read::<AskedEvening>(body)?;
    asked.texts(write_setup(&shared.desk.sled(&asked.here)?.setup))
}

async fn begin_evening(State(shared): State<Shared>, body: Bytes) -> Response {
    let evenings = Arc::clone(&shared.desk.given.evenings);
    let begun = texts(&shared, &body)
        .and_then(|texts| shared.desk.evening.begin(move |done, stop| evenings(&texts, done, stop)));
    told(begun.map(|()| evening_told(&shared)))
}

fn evening_told(shared: &Shared) -> Value {
    shared.desk.evening.told("report", |told| json!(told.report))
}

async fn evening(State(shared): State<Shared>) -> Response {
    told(Ok(evening_told(&shared)))
}

async fn stop_evening(State(shared): State<Shared>) -> Response {
    shared.desk.evening.stop();
    told(Ok(evening_told(&shared)))
}

/// The sheet of the evening, a page of its own to print.
async fn sheet(State(shared): State<Shared>) -> Response {
    match shared.desk.evening.look(|told| told.sheet.clone()) {
        Some(sheet) => Html(sheet).into_response(),
        None => refusal(StatusCode::NOT_FOUND, "there is no sheet yet"),
    }
}

/// Caliper readings as typed, read.
async fn readings(State(shared): State<Shared>, body: Bytes) -> Response {
    let texts = texts(&shared, &body);
    let read = Arc::clone(&shared.desk.given.readings);
    told(
        computed(move || texts.and_then(|t| read(&t)).map(|(text, svg)| json!({ "text": text, "svg": svg })))
            .await,
    )
}

/// The calibration in hand; null until it is there.
async fn calibration(State(shared): State<Shared>) -> Response {
    told(Ok(shared.desk.calibration.told("told", |told| json!(told))))
}

/// Begins to fit a timing sheet.
async fn begin_calibration(State(shared): State<Shared>, body: Bytes) -> Response {
    let fit = Arc::clone(&shared.desk.given.calibrations);
    let begun = read::<AskedCalibration>(&body)
        .and_then(|asked| {
            asked.check()?;
            Ok((write_setup(&shared.desk.sled(&asked.here)?.setup), asked))
        })
        .and_then(|(setup, asked)| shared.desk.calibration.begin(move |_, _| fit(&setup, &asked)));
    told(begun.map(|()| json!({ "running": true })))
}

/// The ice of a corner laid flat, and the lines on it that are known.
async fn place(State(shared): State<Shared>, body: Bytes) -> Response {
    let desk = shared.desk;
    let asked = read::<AskedPlace>(&body)
        .and_then(|a| Ok((desk.sled(&a.here)?.key(), desk.sled(&a.pinned)?.key(), a)));
    let work = move || {
        let (here, pinned, asked) = asked?;
        let other = desk.find(&pinned).filter(|_| here != pinned);
        place_told(&desk.given.track, &asked, desk.find(&here).as_deref(), other.as_deref())
    };
    told(computed(work).await)
}

/// The told line in hand; null until it is there.
async fn line(State(shared): State<Shared>) -> Response {
    told(Ok(shared.desk.line.told("told", Value::clone)))
}

/// Begins to plan a told line.
async fn begin_line(State(shared): State<Shared>, body: Bytes) -> Response {
    let desk = Arc::clone(&shared.desk);
    let begun = read::<AskedLine>(&body)
        .and_then(|asked| {
            asked.check()?;
            let known = desk.find(&desk.sled(&asked.here)?.key());
            Ok((known.ok_or("the planned ride of this set-up is not there yet: wait for it")?, asked))
        })
        .and_then(|(ridden, asked)| {
            let own = Arc::clone(&desk);
            desk.line.begin(move |done, _| line_told(&own.given.track, &ridden, &asked, done))
        });
    told(begun.map(|()| json!({ "running": true })))
}

/// Two set-ups of a timing sheet, told apart.
async fn analysis(State(shared): State<Shared>, body: Bytes) -> Response {
    let analyse = Arc::clone(&shared.desk.given.analyses);
    let asked = read::<AskedAnalysis>(&body).and_then(|asked| asked.check().map(|()| asked));
    told(computed(move || asked.and_then(|asked| analyse(&asked))).await.map(|t| json!(t)))
}

/// A trial, planned.
async fn trial(State(shared): State<Shared>, body: Bytes) -> Response {
    let plan = Arc::clone(&shared.desk.given.trial_plans);
    let asked = read::<AskedTrial>(&body).and_then(|asked| {
        asked.check()?;
        Ok((write_setup(&shared.desk.sled(&asked.here)?.setup), asked))
    });
    told(computed(move || asked.and_then(|(setup, asked)| plan(&setup, &asked))).await.map(|t| json!(t)))
}

/// The set-up as a file for the command line.
async fn save(State(shared): State<Shared>, body: Bytes) -> Response {
    let sled = read::<AskedSetup>(&body).and_then(|asked| shared.desk.sled(&asked));
    match sled {
        Ok(sled) => write_setup(&sled.setup).into_response(),
        Err(why) => told(Err(why)),
    }
}

/// The rows of the planned ride, as `descend --out` writes them.
async fn trace(State(shared): State<Shared>, body: Bytes) -> Response {
    let found = read::<AskedSetup>(&body).and_then(|asked| shared.desk.sled(&asked)).and_then(|sled| {
        let known = shared.desk.find(&sled.key());
        known.ok_or("the planned ride of this set-up is not there yet: wait for it".to_string())
    });
    match found {
        Ok(known) => sweep_runner::records::trace_table::trace_csv(&known.descent.trace).into_response(),
        Err(why) => told(Err(why)),
    }
}
