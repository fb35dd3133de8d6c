//! A desk on a free port, and a page's side of it: plain HTTP and a socket.

use serde_json::Value;
use std::error::Error;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::sync::Arc;
use std::time::{Duration, Instant};
use tokio::sync::oneshot;
use tokio_tungstenite::tungstenite::client::IntoClientRequest;
use tokio_tungstenite::tungstenite::http::HeaderValue;
use tokio_tungstenite::tungstenite::{Message, WebSocket, client};
use wayup::desk::server::{AppState, Bound, Limits};
use wayup::session::config::Resolved;

/// Longest that anything may take in a test.
const PATIENCE: Duration = Duration::from_secs(120);

type Answer<T> = Result<T, Box<dyn Error>>;

/// A desk that answers until it is dropped.
pub struct Running {
    /// What the routes share.
    pub desk: Arc<AppState>,
    end: Option<oneshot::Sender<()>>,
    runtime: Option<tokio::runtime::Runtime>,
}

impl Running {
    /// A desk with the usual limits and defaults.
    pub fn start() -> Self {
        Self::with(Limits::default())
    }

    /// A desk with other limits.
    pub fn with(limits: Limits) -> Self {
        let runtime = tokio::runtime::Runtime::new().expect("a runtime");
        let bound = runtime
            .block_on(Bound::new(0, Resolved::default(), limits))
            .expect("a free port");
        let desk = Arc::clone(&bound.desk);
        let (end, ended) = oneshot::channel();
        runtime.spawn(bound.serve(async {
            let _ = ended.await;
        }));
        Self {
            desk,
            end: Some(end),
            runtime: Some(runtime),
        }
    }

    /// `127.0.0.1:PORT`.
    pub fn host(&self) -> String {
        format!("127.0.0.1:{}", self.desk.port)
    }

    /// A path below the secret.
    pub fn path(&self, rest: &str) -> String {
        format!("/{}{rest}", self.desk.token)
    }

    /// Sends a request as it stands, and reads the whole answer: status, head, body.
    pub fn raw(&self, request: &[u8]) -> Answer<(u16, String, Vec<u8>)> {
        let mut stream = TcpStream::connect(self.host())?;
        stream.set_read_timeout(Some(PATIENCE))?;
        // A desk that refuses early may shut the door while this still talks.
        let _ = stream.write_all(request);
        answer(&mut stream)
    }

    /// GET of a path below the secret.
    pub fn get(&self, rest: &str) -> Answer<(u16, String, Vec<u8>)> {
        let head = format!(
            "GET {} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n",
            self.path(rest),
            self.host()
        );
        self.raw(head.as_bytes())
    }

    /// POST of a file; the answer whatever the status.
    pub fn post(&self, rest: &str, body: &[u8]) -> Answer<(u16, Value)> {
        let head = format!(
            "POST {} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\nContent-Length: {}\r\n\r\n",
            self.path(rest),
            self.host(),
            body.len()
        );
        let (status, _, body) = self.raw(&[head.as_bytes(), body].concat())?;
        Ok((status, serde_json::from_slice(&body)?))
    }

    /// Opens a part, which has to be a good one.
    pub fn upload(&self, name: &str, bytes: &[u8]) -> Answer<Value> {
        let (status, reply) = self.post(&format!("/part?name={name}"), bytes)?;
        if status == 200 {
            Ok(reply)
        } else {
            Err(format!("{status}: {reply}").into())
        }
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        drop(self.end.take());
        if let Some(runtime) = self.runtime.take() {
            runtime.shutdown_background();
        }
    }
}

/// Status, head and body of an answer that ends with the connection.
pub fn answer(stream: &mut TcpStream) -> Answer<(u16, String, Vec<u8>)> {
    let mut all = Vec::new();
    let read = stream.read_to_end(&mut all);
    let cut = all.windows(4).position(|w| w == b"\r\n\r\n");
    let Some(cut) = cut else {
        read?;
        return Err("an answer without a head".into());
    };
    let head = String::from_utf8_lossy(&all[..cut]).into_owned();
    let status = head.split(' ').nth(1).ok_or("no status")?.parse()?;
    Ok((status, head, all[cut + 4..].to_vec()))
}

/// A page's socket.
pub struct Client {
    /// The socket itself.
    pub socket: WebSocket<TcpStream>,
    /// Everything heard so far, in order.
    pub heard: Vec<Value>,
}

impl Client {
    /// Opens the socket of a desk as its own page does.
    pub fn connect(desk: &Running) -> Answer<Self> {
        Self::knock(desk, &desk.path("/ws"), &format!("http://{}", desk.host()))
    }

    /// Opens a socket at a path from a page of some origin.
    pub fn knock(desk: &Running, path: &str, origin: &str) -> Answer<Self> {
        let mut request = format!("ws://{}{path}", desk.host()).into_client_request()?;
        request
            .headers_mut()
            .insert("origin", HeaderValue::from_str(origin)?);
        let stream = TcpStream::connect(desk.host())?;
        stream.set_nodelay(true)?;
        stream.set_read_timeout(Some(PATIENCE))?;
        let (socket, _) = client(request, stream).map_err(|e| e.to_string())?;
        Ok(Self {
            socket,
            heard: Vec::new(),
        })
    }

    /// Sends a message.
    pub fn say(&mut self, message: &Value) -> Answer<()> {
        Ok(self.socket.send(Message::text(message.to_string()))?)
    }

    /// The next message.
    pub fn hear(&mut self) -> Answer<Value> {
        loop {
            if let Message::Text(text) = self.socket.read()? {
                let message: Value = serde_json::from_str(&text)?;
                self.heard.push(message.clone());
                return Ok(message);
            }
        }
    }

    /// The next message that is wanted; others are passed over.
    pub fn wait(&mut self, wanted: impl Fn(&Value) -> bool) -> Answer<Value> {
        let until = Instant::now() + PATIENCE;
        while Instant::now() < until {
            let message = self.hear()?;
            if wanted(&message) {
                return Ok(message);
            }
            if message["say"] == "refused" || message["say"] == "failed" {
                return Err(message.to_string().into());
            }
        }
        Err(format!("not heard within {PATIENCE:?}").into())
    }
}
