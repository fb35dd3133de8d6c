//! `wayup desk`: the page on this machine.

use super::args::DeskArgs;
use crate::cli::terminal;
use crate::desk::engine::part::DeskPart;
use crate::desk::server::{Bound, Limits};
use crate::session::exit::{Exit, Failure};
use crate::session::intake;
use std::io::{self, Write};
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::time::Duration;
use tempfile::NamedTempFile;

/// How long what still runs may take to end.
const GRACE: Duration = Duration::from_millis(500);

/// Serves the page until it is interrupted.
///
/// # Errors
/// Flags that are off, a part that cannot be read, a port that is taken.
pub fn run(args: &DeskArgs) -> Result<Exit, Failure> {
    let asked = args.common.asked()?;
    intake::threads(args.common.run.threads)?;
    let first = args.part.as_deref().map(|path| asked.read(path, None));
    let first = first.transpose()?;
    let fail = |e: io::Error| {
        let defect = match e.kind() {
            io::ErrorKind::AddrInUse => "is taken by another program".to_string(),
            _ => format!("cannot be listened at: {e}"),
        };
        let (exit, subject, hint) = match args.port {
            Some(port) => (
                Exit::Words,
                format!("--port {port}"),
                "give another one, or none",
            ),
            None => (
                Exit::Unwritable,
                "127.0.0.1".to_string(),
                "see whether this machine lets programs listen at its own address",
            ),
        };
        Failure::new(exit, subject, defect, hint)
    };
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(fail)?;
    let done = runtime.block_on(async {
        let none = asked.resolve(None)?;
        let bound = Bound::new(args.port.unwrap_or(0), none, Limits::default())
            .await
            .map_err(fail)?;
        if let Some((base, intake)) = first {
            let number = bound.desk.table.number();
            let part = DeskPart::new(number, intake, args.common.run.units.is_some(), base)?;
            bound.desk.table.put(part);
        }
        let address = bound.address();
        terminal::result(&format!("{address}\n"))?;
        terminal::note("the page is open to this machine only; Ctrl-C ends it");
        // Goes away with the desk.
        let door = (!args.no_browser).then(|| open(&address));
        if matches!(door, Some(Err(_))) {
            terminal::note("no browser could be opened; copy the address into one");
        }
        bound.serve(interrupted()).await;
        Ok(Exit::Done)
    });
    runtime.shutdown_timeout(GRACE);
    done
}

/// Waits for Ctrl-C or a request to end.
async fn interrupted() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut term) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = tokio::signal::ctrl_c() => {}
                _ = term.recv() => {}
            }
            return;
        }
    }
    // Where no signal can be waited for there is nothing to end by but the system itself.
    let _ = tokio::signal::ctrl_c().await;
}

/// Opens an address in the person's browser, by way of a file that leads there and that nobody else
/// may read: everybody on the machine sees the words that a program is started with.
///
/// # Errors
/// The file cannot be made, or no program to open it could be started.
fn open(address: &str) -> io::Result<NamedTempFile> {
    let mut door =
        (tempfile::Builder::new().prefix("wayup-").suffix(".html")).tempfile_in(runtime_folder())?;
    write!(
        door,
        "<!DOCTYPE html>\n<meta charset=\"utf-8\">\n<title>wayup</title>\n\
         <meta http-equiv=\"refresh\" content=\"0; url={address}\">\n\
         <p><a href=\"{address}\">Open the page</a></p>\n"
    )?;
    door.flush()?;
    let named = std::env::var_os("BROWSER").and_then(|b| b.into_string().ok());
    let (program, before): (&str, &[&str]) = match &named {
        Some(browser) => (browser, &[]),
        None if cfg!(target_os = "macos") => ("open", &[]),
        None if cfg!(windows) => ("rundll32", &["url.dll,FileProtocolHandler"]),
        None => ("xdg-open", &[]),
    };
    Command::new(program)
        .args(before)
        .arg(door.path())
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()?;
    Ok(door)
}

/// The folder of this session's passing files, else that of all.
fn runtime_folder() -> PathBuf {
    let session = std::env::var_os("XDG_RUNTIME_DIR").map(PathBuf::from);
    session
        .filter(|folder| folder.is_dir())
        .unwrap_or_else(std::env::temp_dir)
}
