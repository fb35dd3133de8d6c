//! One connection of the page: settings, rankings and turns as messages.
//!
//! Three workers wait for the newest job each: the ranking, the quick figures of a turn
//! and the full ones. A job that a newer one overtakes is never begun, or stopped; so a
//! hand that moves fast is followed without a queue, and the next part ends the work on
//! the last.

use super::AppState;
use super::outbox::{Outbox, failed};
use super::ranking::{RankingJob, rank};
use crate::desk::engine::hand::{self, HandTurn};
use crate::desk::engine::part::{DeskPart, Direction};
use crate::desk::engine::values::{self, Rejection};
use crate::figures::stop::Stop;
use crate::session::intake;
use crate::settings::Settings;
use crate::settings::overrides::Overrides;
use crate::sync::held;
use axum::extract::State;
use axum::extract::ws::{CloseFrame, Message, WebSocket, WebSocketUpgrade, close_code};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::{Map, Value, json};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use tokio::sync::{mpsc, watch};

/// Longest message that is answered, bytes.
const LONGEST_MESSAGE: usize = 64 << 10;
/// Longest message that is read, bytes: whoever is still sending would not hear why he is hung up on.
const LONGEST_READ: usize = 1 << 20;
/// How long a page that is hung up on may take to say that it heard.
const GOODBYE: Duration = Duration::from_secs(1);
/// Messages that wait to be sent at most; progress beyond is left out.
const WAITING: usize = 256;

/// What the page says of a part.
#[derive(Debug, Deserialize)]
struct Heard {
    part: u64,
    #[serde(flatten)]
    wish: Wish,
}

/// What is to be done.
#[derive(Debug, Deserialize)]
#[serde(tag = "do", rename_all = "lowercase")]
enum Wish {
    Open,
    Settings {
        values: Map<String, Value>,
    },
    Turn {
        seq: u64,
        down: Value,
        #[serde(default)]
        rest: bool,
    },
    Face {
        seq: u64,
        triangle: usize,
    },
}

/// Opens the socket, unless too many are open.
pub async fn upgrade(State(desk): State<Arc<AppState>>, upgrade: WebSocketUpgrade) -> Response {
    let Ok(place) = Arc::clone(&desk.sockets).try_acquire_owned() else {
        return StatusCode::SERVICE_UNAVAILABLE.into_response();
    };
    upgrade
        .max_message_size(LONGEST_READ)
        .max_frame_size(LONGEST_READ)
        .on_upgrade(async move |socket| {
            talk(desk, socket).await;
            drop(place);
        })
}

async fn talk(desk: Arc<AppState>, mut socket: WebSocket) {
    let (out, mut waiting) = mpsc::channel(WAITING);
    let seat = Seat::new(desk, Outbox(out));
    loop {
        tokio::select! {
            heard = socket.recv() => match heard {
                Some(Ok(Message::Text(text))) if text.len() > LONGEST_MESSAGE => {
                    hang_up(&mut socket).await;
                    break;
                }
                Some(Ok(Message::Text(text))) => {
                    if !hear(&seat, &text, &mut waiting, &mut socket).await {
                        break;
                    }
                }
                Some(Err(_)) => {
                    hang_up(&mut socket).await;
                    break;
                }
                Some(Ok(Message::Close(_))) | None => break,
                Some(Ok(_)) => {}
            },
            Some(text) = waiting.recv() => {
                if socket.send(Message::Text(text.into())).await.is_err() {
                    break;
                }
            }
        }
    }
    seat.stop();
}

/// Answers a message. What waits to be sent goes out meanwhile: the answer itself may have to wait
/// for room among it. False where the page is gone.
async fn hear(
    seat: &Seat,
    text: &str,
    waiting: &mut mpsc::Receiver<String>,
    socket: &mut WebSocket,
) -> bool {
    let hearing = seat.heard(text);
    tokio::pin!(hearing);
    loop {
        tokio::select! {
            () = &mut hearing => return true,
            Some(text) = waiting.recv() => {
                if socket.send(Message::Text(text.into())).await.is_err() {
                    return false;
                }
            }
        }
    }
}

/// Closes with a word of why, and waits a moment for the page to have read it.
async fn hang_up(socket: &mut WebSocket) {
    let why = CloseFrame {
        code: close_code::SIZE,
        reason: "a message has to be whole, and 64 KB long at most".into(),
    };
    let _ = socket.send(Message::Close(Some(why))).await;
    let gone = async { while let Some(Ok(_)) = socket.recv().await {} };
    let _ = tokio::time::timeout(GOODBYE, gone).await;
}

/// A turn with what it is measured under.
#[derive(Clone)]
struct Hand {
    settings: Settings,
    turn: HandTurn,
    /// Number of this turn among those of the connection, and of the newest.
    number: u64,
    newest: Arc<AtomicU64>,
}

/// What one connection has.
struct Seat {
    desk: Arc<AppState>,
    out: Outbox,
    given: Mutex<Overrides>,
    ranked: Arc<Mutex<Vec<Direction>>>,
    /// Ends the ranking that runs.
    running: Mutex<Arc<AtomicBool>>,
    /// The part and the turn that were last asked for.
    last: Mutex<Option<(u64, u64, Direction)>>,
    newest: Arc<AtomicU64>,
    search: Newest<RankingJob>,
    quick: Newest<Hand>,
    full: Newest<Hand>,
}

/// The newest job, with the part that it is about. A job that is begun is no longer kept here: a
/// part that was closed goes when the work on it ends.
struct Newest<J> {
    job: NextJob<J>,
    more: watch::Sender<()>,
}

type NextJob<J> = Arc<Mutex<Option<(Arc<DeskPart>, J)>>>;

impl<J> Newest<J> {
    fn put(&self, part: Arc<DeskPart>, job: J) {
        *held(&self.job) = Some((part, job));
        self.more.send_replace(());
    }
}

/// Does the newest job again and again, off the threads that answer. Where one breaks off,
/// the page is told, and the worker goes on.
fn worker<J: Send + 'static>(
    out: &Outbox,
    work: impl Fn(&Arc<DeskPart>, &J) + Clone + Send + 'static,
) -> Newest<J> {
    let (more, mut asked) = watch::channel(());
    let (job, out) = (NextJob::default(), out.clone());
    let next = Arc::clone(&job);
    tokio::spawn(async move {
        while asked.changed().await.is_ok() {
            let Some((part, job)) = held(&next).take() else {
                continue;
            };
            let facts = (part.id, part.intake.facts.sha256.clone());
            let work = work.clone();
            let done = tokio::task::spawn_blocking(move || work(&part, &job)).await;
            if done.is_err() {
                let why = intake::fault("", Some(&facts.1));
                out.send(&failed(facts.0, &why.defect)).await;
            }
        }
    });
    Newest { job, more }
}

impl Seat {
    fn new(desk: Arc<AppState>, out: Outbox) -> Self {
        let ranked = Arc::new(Mutex::new(Vec::new()));
        let (d, o, r) = (Arc::clone(&desk), out.clone(), Arc::clone(&ranked));
        let search = worker(&out, move |part, job: &RankingJob| {
            rank(&d, &o, &r, (part, job));
        });
        let o = out.clone();
        let quick = worker(&out, move |part, h: &Hand| {
            if !part.is_closed() {
                o.say(&hand::quick(part, &h.settings, &h.turn));
            }
        });
        let (d, o) = (Arc::clone(&desk), out.clone());
        let full = worker(&out, move |part, h: &Hand| {
            let over = || part.is_closed() || h.newest.load(Ordering::Relaxed) != h.number;
            let stop = Stop::when(&over);
            let told = (d.rest).install(|| hand::full(part, &h.settings, &h.turn, &stop));
            if let Some(told) = told {
                o.say(&told);
            }
        });
        Self {
            desk,
            out,
            given: Mutex::default(),
            ranked,
            running: Mutex::default(),
            last: Mutex::default(),
            newest: Arc::default(),
            search,
            quick,
            full,
        }
    }

    async fn heard(&self, text: &str) {
        let Heard { part, wish } = match serde_json::from_str(text) {
            Ok(heard) => heard,
            Err(why) => return self.refuse("", &format!("not understood: {why}")).await,
        };
        let Some(part) = self.part(part).await else {
            return;
        };
        match wish {
            Wish::Open => {
                *held(&self.last) = None;
                held(&self.ranked).clear();
                self.rank(part);
            }
            Wish::Settings { values } => {
                let given = held(&self.given).clone();
                match values::with(&given, &values).and_then(|given| fits(&part, given)) {
                    Err(no) => self.refuse(&no.field, &no.text).await,
                    Ok(given) => {
                        *held(&self.given) = given;
                        self.rank(Arc::clone(&part));
                        let last = *held(&self.last);
                        if let Some((_, seq, down)) = last.filter(|l| l.0 == part.id) {
                            self.turn(part, seq, down, true);
                        }
                    }
                }
            }
            Wish::Turn { seq, down, rest } => match values::direction(&down) {
                Ok(down) => self.turn(part, seq, down, rest),
                Err(why) => self.refuse("down", &why).await,
            },
            Wish::Face { seq, triangle } => match hand::face(&part, triangle) {
                Some(down) => self.turn(part, seq, down, true),
                None => self.refuse("triangle", "there is no such face").await,
            },
        }
    }

    /// The part of a number; the page is told where there is none.
    async fn part(&self, id: u64) -> Option<Arc<DeskPart>> {
        let part = self.desk.table.find(id);
        if part.is_none() {
            let text = "this part is no longer open; open its file again";
            self.out.send(&failed(id, text)).await;
        }
        part
    }

    async fn refuse(&self, field: &str, text: &str) {
        let message = json!({"say": "refused", "field": field, "text": text});
        self.out.send(&message).await;
    }

    fn settings(&self, part: &DeskPart) -> Settings {
        part.base.settings.clone().with(&held(&self.given))
    }

    /// Stops the ranking that runs, and asks for another.
    fn rank(&self, part: Arc<DeskPart>) {
        let stop = Arc::new(AtomicBool::new(false));
        std::mem::replace(&mut *held(&self.running), Arc::clone(&stop))
            .store(true, Ordering::Relaxed);
        let settings = self.settings(&part);
        part.put_in_force(&settings);
        let job = RankingJob {
            settings,
            began: Instant::now(),
            stop,
        };
        self.search.put(part, job);
    }

    fn turn(&self, part: Arc<DeskPart>, seq: u64, down: Direction, rest: bool) {
        let down = part.exact(down);
        *held(&self.last) = Some((part.id, seq, down));
        let number = self.newest.fetch_add(1, Ordering::Relaxed) + 1;
        let hand = Hand {
            settings: self.settings(&part),
            turn: HandTurn {
                seq,
                down,
                ranked: held(&self.ranked).clone(),
            },
            number,
            newest: Arc::clone(&self.newest),
        };
        if rest {
            self.full.put(Arc::clone(&part), hand.clone());
        }
        self.quick.put(part, hand);
    }

    /// Ends what runs; the workers end with the seat.
    fn stop(&self) {
        held(&self.running).store(true, Ordering::Relaxed);
        self.newest.fetch_add(1, Ordering::Relaxed);
    }
}

/// Settings under which a part is not cut into too many layers.
fn fits(part: &DeskPart, given: Overrides) -> Result<Overrides, Rejection> {
    let settings = part.base.settings.clone().with(&given);
    match intake::too_large(&part.intake.part, &settings) {
        Some(why) => Err(Rejection {
            field: "layer_mm".to_string(),
            text: format!("the part {why}"),
        }),
        None => Ok(given),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::config::Resolved;

    #[tokio::test]
    async fn a_fault_of_the_program_is_told_with_the_files_hash_and_the_next_job_is_done() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/meshes/wall-hanger.stl");
        let intake = intake::read(path.as_ref(), None).expect("a part");
        let part = Arc::new(DeskPart::new(7, intake, false, Resolved::default()).expect("a hull"));
        let (sender, mut said) = mpsc::channel(8);
        let out = Outbox(sender);
        let told = out.clone();
        let worker = worker(&out, move |part, good: &bool| {
            assert!(good, "on purpose");
            told.say(&json!({"say": "done", "part": part.id}));
        });
        for (good, say) in [(false, "failed"), (true, "done"), (false, "failed")] {
            worker.put(Arc::clone(&part), good);
            let message = said.recv().await.expect("a message");
            let message: Value = serde_json::from_str(&message).expect("JSON");
            assert_eq!(
                (&message["say"], &message["part"]),
                (&json!(say), &json!(7))
            );
            if !good {
                let text = message["text"].as_str().expect("words");
                assert!(
                    text.starts_with("internal error, please report it"),
                    "{text}"
                );
                assert!(text.contains(&part.intake.facts.sha256), "{text}");
            }
        }
    }
}
