//! One connection of the page: settings, rankings and turns as messages.
//!
//! Three workers wait for the newest job each: the ranking, the quick figures of a turn
//! and the full ones. A job that a newer one overtakes is never begun, or stopped; so a
//! hand that moves fast is followed without a queue, and the next part ends the work on
//! the last.

use super::Desk;
use super::ranking::rank;
use crate::desk::engine::hand::{self, Turn};
use crate::desk::engine::part::{DeskPart, Direction};
use crate::desk::engine::values;
use crate::figures::stop::Stop;
use crate::settings::Settings;
use crate::settings::overrides::Overrides;
use crate::sync::held;
use axum::extract::State;
use axum::extract::ws::{Message, WebSocket, WebSocketUpgrade};
use axum::response::Response;
use serde::Deserialize;
use serde_json::{Map, Value, json};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Instant;
use tokio::sync::{mpsc, watch};

/// Longest message that is read, bytes.
const LONGEST_MESSAGE: usize = 64 << 10;
/// Messages that wait to be sent at most; progress beyond is left out.
const WAITING: usize = 256;

/// What the page says.
#[derive(Debug, Deserialize)]
#[serde(tag = "do", rename_all = "lowercase")]
enum Heard {
    Open {
        part: u64,
    },
    Settings {
        part: u64,
        values: Map<String, Value>,
    },
    Turn {
        part: u64,
        seq: u64,
        down: Value,
        #[serde(default)]
        rest: bool,
    },
    Face {
        part: u64,
        seq: u64,
        triangle: usize,
    },
}

/// Opens the socket.
pub async fn upgrade(State(desk): State<Arc<Desk>>, upgrade: WebSocketUpgrade) -> Response {
    upgrade
        .max_message_size(LONGEST_MESSAGE)
        .max_frame_size(LONGEST_MESSAGE)
        .on_upgrade(move |socket| talk(desk, socket))
}

async fn talk(desk: Arc<Desk>, mut socket: WebSocket) {
    let (out, mut waiting) = mpsc::channel(WAITING);
    let seat = Seat::new(desk, out);
    loop {
        tokio::select! {
            heard = socket.recv() => match heard {
                Some(Ok(Message::Text(text))) => seat.heard(&text).await,
                Some(Ok(Message::Close(_)) | Err(_)) | None => break,
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

/// A ranking that is asked for.
#[derive(Clone)]
pub(super) struct Job {
    pub(super) part: Arc<DeskPart>,
    pub(super) settings: Settings,
    pub(super) began: Instant,
    pub(super) stop: Arc<AtomicBool>,
}

/// A turn with what it is measured under.
#[derive(Clone)]
struct Hand {
    part: Arc<DeskPart>,
    settings: Settings,
    turn: Turn,
    /// Number of this turn among those of the connection, and of the newest.
    number: u64,
    newest: Arc<AtomicU64>,
}

/// A job that is about a part.
trait About: Clone + Send + Sync + 'static {
    /// The number of the part.
    fn part(&self) -> u64;
}

impl About for Job {
    fn part(&self) -> u64 {
        self.part.id
    }
}

impl About for Hand {
    fn part(&self) -> u64 {
        self.part.id
    }
}

/// What one connection has.
struct Seat {
    desk: Arc<Desk>,
    out: mpsc::Sender<String>,
    given: Mutex<Overrides>,
    ranked: Arc<Mutex<Vec<Direction>>>,
    /// Ends the ranking that runs.
    running: Mutex<Arc<AtomicBool>>,
    /// The part and the turn that were last asked for.
    last: Mutex<Option<(u64, u64, Direction)>>,
    newest: Arc<AtomicU64>,
    search: watch::Sender<Option<Job>>,
    quick: watch::Sender<Option<Hand>>,
    full: watch::Sender<Option<Hand>>,
}

/// Does the newest job again and again, off the threads that answer. Where one breaks off,
/// the page is told, and the worker goes on.
fn worker<J: About>(
    out: &mpsc::Sender<String>,
    mut jobs: watch::Receiver<Option<J>>,
    work: impl Fn(&J) + Clone + Send + 'static,
) {
    let out = out.clone();
    tokio::spawn(async move {
        while jobs.changed().await.is_ok() {
            let Some(job) = jobs.borrow_and_update().clone() else {
                continue;
            };
            let work = work.clone();
            let part = job.part();
            if tokio::task::spawn_blocking(move || work(&job))
                .await
                .is_err()
            {
                let text = "the work on this part broke off; the program has a fault";
                let message = json!({"say": "failed", "part": part, "text": text});
                let _ = out.send(message.to_string()).await;
            }
        }
    });
}

impl Seat {
    fn new(desk: Arc<Desk>, out: mpsc::Sender<String>) -> Self {
        let ranked = Arc::new(Mutex::new(Vec::new()));
        let (search, jobs) = watch::channel(None);
        let (quick, turns) = watch::channel(None);
        let (full, rests) = watch::channel(None);
        let (d, o, r) = (Arc::clone(&desk), out.clone(), Arc::clone(&ranked));
        worker(&out, jobs, move |job: &Job| rank(&d, &o, &r, job));
        let o = out.clone();
        worker(&out, turns, move |h: &Hand| {
            say(&o, h.part.id, hand::quick(&h.part, &h.settings, &h.turn));
        });
        let (d, o) = (Arc::clone(&desk), out.clone());
        worker(&out, rests, move |h: &Hand| {
            let overtaken = || h.newest.load(Ordering::Relaxed) != h.number;
            let stop = Stop::when(&overtaken);
            let told = (d.rest).install(|| hand::full(&h.part, &h.settings, &h.turn, &stop));
            if let Some(told) = told.transpose() {
                say(&o, h.part.id, told);
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
        let heard = match serde_json::from_str::<Heard>(text) {
            Ok(heard) => heard,
            Err(why) => return self.refuse("", &format!("not understood: {why}")).await,
        };
        match heard {
            Heard::Open { part } => {
                if let Some(part) = self.part(part).await {
                    *held(&self.last) = None;
                    held(&self.ranked).clear();
                    self.rank(part);
                }
            }
            Heard::Settings { part, values } => {
                let Some(part) = self.part(part).await else {
                    return;
                };
                let given = held(&self.given).clone();
                match values::with(&given, &values) {
                    Err(no) => self.refuse(&no.field, &no.text).await,
                    Ok(given) => {
                        *held(&self.given) = given;
                        self.rank(Arc::clone(&part));
                        let last = *held(&self.last);
                        if let Some((id, seq, down)) = last.filter(|l| l.0 == part.id) {
                            debug_assert_eq!(id, part.id);
                            self.turn(part, seq, down, true);
                        }
                    }
                }
            }
            Heard::Turn {
                part,
                seq,
                down,
                rest,
            } => {
                let Some(part) = self.part(part).await else {
                    return;
                };
                match values::direction(&down) {
                    Ok(down) => self.turn(part, seq, down, rest),
                    Err(why) => self.refuse("down", &why).await,
                }
            }
            Heard::Face {
                part,
                seq,
                triangle,
            } => {
                let Some(part) = self.part(part).await else {
                    return;
                };
                match hand::face(&part, triangle) {
                    Some(down) => self.turn(part, seq, down, true),
                    None => self.refuse("triangle", "there is no such face").await,
                }
            }
        }
    }

    /// The part of a number; the page is told where there is none.
    async fn part(&self, id: u64) -> Option<Arc<DeskPart>> {
        let part = self.desk.table.find(id);
        if part.is_none() {
            let text = "this part is no longer open; open its file again";
            let message = json!({"say": "failed", "part": id, "text": text});
            let _ = self.out.send(message.to_string()).await;
        }
        part
    }

    async fn refuse(&self, field: &str, text: &str) {
        let message = json!({"say": "refused", "field": field, "text": text});
        // The page may have gone away.
        let _ = self.out.send(message.to_string()).await;
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
        self.search.send_replace(Some(Job {
            part,
            settings,
            began: Instant::now(),
            stop,
        }));
    }

    fn turn(&self, part: Arc<DeskPart>, seq: u64, down: Direction, rest: bool) {
        let down = part.exact(down);
        *held(&self.last) = Some((part.id, seq, down));
        let number = self.newest.fetch_add(1, Ordering::Relaxed) + 1;
        let hand = Hand {
            settings: self.settings(&part),
            turn: Turn {
                seq,
                down,
                ranked: held(&self.ranked).clone(),
            },
            number,
            newest: Arc::clone(&self.newest),
            part,
        };
        if rest {
            self.full.send_replace(Some(hand.clone()));
        }
        self.quick.send_replace(Some(hand));
    }

    /// Ends what runs; the workers end with the seat.
    fn stop(&self) {
        held(&self.running).store(true, Ordering::Relaxed);
        self.newest.fetch_add(1, Ordering::Relaxed);
    }
}

/// Sends a message, or that it could not be made.
pub(super) fn say(out: &mpsc::Sender<String>, part: u64, told: serde_json::Result<String>) {
    let text = told.unwrap_or_else(|why| {
        json!({"say": "failed", "part": part, "text": why.to_string()}).to_string()
    });
    // The page may have gone away.
    let _ = out.blocking_send(text);
}
