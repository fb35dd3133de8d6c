//! Messages to one page. It may go away at any time, which is no fault.

use serde_json::{Value, json};
use tokio::sync::mpsc;

/// Where messages wait to be sent.
#[derive(Clone)]
pub(super) struct Outbox(pub(super) mpsc::Sender<String>);

impl Outbox {
    /// Sends a message.
    pub(super) async fn send(&self, message: Value) {
        let _ = self.0.send(message.to_string()).await;
    }

    /// Sends a message, or that it could not be made, from a thread that may wait.
    pub(super) fn say(&self, part: u64, told: serde_json::Result<String>) {
        let text = told.unwrap_or_else(|why| failed(part, &why.to_string()).to_string());
        let _ = self.0.blocking_send(text);
    }

    /// Sends a message that may be left out where too much waits already.
    pub(super) fn mention(&self, text: String) {
        let _ = self.0.try_send(text);
    }
}

/// The message that the work on a part came to nothing.
pub(super) fn failed(part: u64, text: &str) -> Value {
    json!({"say": "failed", "part": part, "text": text})
}
