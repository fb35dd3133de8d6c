//! Messages to one page. It may go away at any time, which is no fault.

use crate::report::number;
use serde_json::{Value, json};
use tokio::sync::mpsc;

/// Where messages wait to be sent.
#[derive(Clone)]
pub(super) struct Outbox(pub(super) mpsc::Sender<String>);

impl Outbox {
    /// Sends a message.
    pub(super) async fn send(&self, message: &Value) {
        let _ = self.0.send(text(message)).await;
    }

    /// Sends a message from a thread that may wait.
    pub(super) fn say(&self, message: &Value) {
        let _ = self.0.blocking_send(text(message));
    }

    /// Sends a message that may be left out where too much waits already.
    pub(super) fn mention(&self, message: &Value) {
        let _ = self.0.try_send(text(message));
    }
}

/// A message as it is sent, numbers rounded as in all JSON; plain data is never refused.
fn text(message: &Value) -> String {
    number::line(message).unwrap_or_else(|_| message.to_string())
}

/// The message that the work on a part came to nothing.
pub(super) fn failed(part: u64, text: &str) -> Value {
    json!({"say": "failed", "part": part, "text": text})
}
