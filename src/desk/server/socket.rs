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

/// Opens the socket.
pub async fn upgrade(State(desk): State<Arc<AppState>>, upgrade: WebSocketUpgrade) -> Response {
    upgrade
        .max_message_size(LONGEST_MESSAGE)
        .max_frame_size(LONGEST_MESSAGE)
        .on_upgrade(move |socket| talk(desk, socket))
}

async fn talk(desk: Arc<AppState>, mut socket: WebSocket) {
    let (out, mut waiting) = mpsc::channel(WAITING);
    let seat = Seat::new(desk, Outbox(out));
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

/// A turn with what it is measured under.
#[derive(Clone)]
struct Hand {
    part: Arc<DeskPart>,
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

/// The newest job, with the number of the part that it is about.
type Newest<J> = watch::Sender<Option<(u64, J)>>;

/// Does the newest job again and again, off the threads that answer. Where one breaks off,
/// the page is told, and the worker goes on.
fn worker<J: Clone + Send + Sync + 'static>(
    out: &Outbox,
    work: impl Fn(&J) + Clone + Send + 'static,
) -> Newest<J> {
    let (newest, mut jobs) = watch::channel(None);
    let out = out.clone();
    tokio::spawn(async move {
        while jobs.changed().await.is_ok() {
            let Some((part, job)) = jobs.borrow_and_update().clone() else {
                continue;
            };
            let work = work.clone();
            let done = tokio::task::spawn_blocking(move || work(&job)).await;
            if done.is_err() {
                let text = "the work on this part broke off; the program has a fault";
                out.send(&failed(part, text)).await;
            }
        }
    });
    newest
}

impl Seat {
    fn new(desk: Arc<AppState>, out: Outbox) -> Self {
        let ranked = Arc::new(Mutex::new(Vec::new()));
        let (d, o, r) = (Arc::clone(&desk), out.clone(), Arc::clone(&ranked));
        let search = worker(&out, move |job: &RankingJob| rank(&d, &o, &r, job));
        let o = out.clone();
        let quick = worker(&out, move |h: &Hand| {
            o.say(&hand::quick(&h.part, &h.settings, &h.turn));
        });
        let (d, o) = (Arc::clone(&desk), out.clone());
        let full = worker(&out, move |h: &Hand| {
            let overtaken = || h.newest.load(Ordering::Relaxed) != h.number;
            let stop = Stop::when(&overtaken);
            let told = (d.rest).install(|| hand::full(&h.part, &h.settings, &h.turn, &stop));
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
        let id = part.id;
        let job = RankingJob {
            part,
            settings,
            began: Instant::now(),
            stop,
        };
        self.search.send_replace(Some((id, job)));
    }

    fn turn(&self, part: Arc<DeskPart>, seq: u64, down: Direction, rest: bool) {
        let (id, down) = (part.id, part.exact(down));
        *held(&self.last) = Some((id, seq, down));
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
            part,
        };
        if rest {
            self.full.send_replace(Some((id, hand.clone())));
        }
        self.quick.send_replace(Some((id, hand)));
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
