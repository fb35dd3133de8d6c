//! The package: which entry is the root model part, and a limit on what is unpacked.

use super::model::{self, ModelPart, normal_path};
use super::place;
use crate::mesh::error::{LocatedFault, ReadFault};
use crate::mesh::read::raw::{Raw, ReadOptions};
use crate::mesh::read::text;
use quick_xml::Reader;
use quick_xml::events::Event;
use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Cursor, Read, Take};
use zip::read::ZipFile;
use zip::{CompressionMethod, ZipArchive};

type Archive<'a> = ZipArchive<Cursor<&'a [u8]>>;

/// Relationship that leads to the model part (3MF Core 1.4).
const MODEL_RELATIONSHIP: &str = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel";
/// Most further model parts that are followed.
const MOST_PARTS: usize = 1024;

/// Reads a 3MF package.
pub(in crate::mesh::read) fn read(
    bytes: &[u8],
    options: &ReadOptions,
) -> Result<Raw, LocatedFault> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|error| zip_flaw(&error))?;
    let entries = archive.len() as u64;
    if entries > options.entry_limit {
        return Err(ReadFault::TooManyEntries {
            entries,
            limit: options.entry_limit,
        }
        .into());
    }
    let mut left = options.inflate_limit;

    let root = root_part(&mut archive, &mut left, options)?;
    let mut models: BTreeMap<String, ModelPart> = BTreeMap::new();
    let mut wanted = vec![root.clone()];
    while let Some(path) = wanted.pop() {
        if models.contains_key(&path) {
            continue;
        }
        if models.len() >= MOST_PARTS {
            let fault = ReadFault::TooManyEntries {
                entries: models.len() as u64 + 1,
                limit: MOST_PARTS as u64,
            };
            return Err(fault.into());
        }
        let index = find(&archive, &path).ok_or_else(|| {
            ReadFault::BadRecord(format!(
                "the package lacks its model part '{}'",
                text::shown(path.as_bytes())
            ))
        })?;
        let model = unpacked(&mut archive, index, &mut left, options, |reader| {
            model::read(reader, options)
        })?;
        wanted.extend(model.paths().map(normal_path));
        models.insert(path, model);
    }
    place::build(&models, &root, options)
}

/// What `read` makes of an entry, which may unpack to `left` bytes, and leaves the rest of them.
fn unpacked<T>(
    archive: &mut Archive,
    index: usize,
    left: &mut u64,
    options: &ReadOptions,
    read: impl FnOnce(&mut Reader<BufReader<Take<ZipFile<Cursor<&[u8]>>>>>) -> Result<T, LocatedFault>,
) -> Result<T, LocatedFault> {
    let entry = archive.by_index(index).map_err(|error| zip_flaw(&error))?;
    if let Some(kind) = foreign(entry.compression()) {
        return Err(ReadFault::Compression(kind).into());
    }
    // One more, to tell what is just as long from what is longer.
    let mut reader = Reader::from_reader(BufReader::new(entry.take(left.saturating_add(1))));
    let made = read(&mut reader);
    let limit_bytes = options.inflate_limit;
    let unread = reader.into_inner().into_inner().limit().checked_sub(1);
    *left = unread.ok_or(ReadFault::Inflates { limit_bytes })?;
    made
}

fn zip_flaw(error: &zip::result::ZipError) -> LocatedFault {
    use zip::result::ZipError;
    match error {
        ZipError::UnsupportedArchive(_) | ZipError::InvalidPassword => {
            ReadFault::Unsupported("an encrypted or unusual zip package").into()
        }
        _ => ReadFault::BadRecord("the zip package is damaged or truncated".to_owned()).into(),
    }
}

/// A compression that is not that of 3MF, by its name.
fn foreign(method: CompressionMethod) -> Option<&'static str> {
    Some(match method {
        CompressionMethod::STORE | CompressionMethod::DEFLATE => return None,
        CompressionMethod::DEFLATE64 => "deflate64",
        CompressionMethod::BZIP2 => "bzip2",
        CompressionMethod::LZMA => "LZMA",
        CompressionMethod::ZSTD => "zstd",
        CompressionMethod::XZ => "xz",
        CompressionMethod::PPMD => "PPMd",
        _ => "an unusual compression",
    })
}

fn find(archive: &Archive, path: &str) -> Option<usize> {
    (0..archive.len()).find(
        |&i| matches!(archive.name_for_index(i), Some(Ok(name)) if normal_path(&name) == path),
    )
}

/// Name of the model part: where the package's relationships point, else the only
/// `.model` entry.
fn root_part(
    archive: &mut Archive,
    left: &mut u64,
    options: &ReadOptions,
) -> Result<String, LocatedFault> {
    if let Some(index) = find(archive, "_rels/.rels") {
        let target = unpacked(archive, index, left, options, |reader| {
            Ok(model_target(reader)?.map(|target| normal_path(&target)))
        })?;
        if let Some(target) = target {
            return Ok(target);
        }
    }
    let mut models = (0..archive.len())
        .filter_map(|i| archive.name_for_index(i)?.ok())
        .map(|name| normal_path(&name))
        .filter(|name| {
            name.rsplit_once('.')
                .is_some_and(|(_, ending)| ending == "model")
        });
    match (models.next(), models.next()) {
        (Some(only), None) => Ok(only),
        (Some(_), Some(_)) => Err(ReadFault::BadRecord(
            "the package does not say which of its model parts is the root".to_owned(),
        )
        .into()),
        (None, _) => Err(ReadFault::Archive("a zip archive without a 3MF model").into()),
    }
}

fn model_target<R: BufRead>(reader: &mut Reader<R>) -> Result<Option<String>, LocatedFault> {
    let mut buffer = Vec::new();
    loop {
        buffer.clear();
        let at = reader.buffer_position() as usize;
        match reader.read_event_into(&mut buffer) {
            Ok(Event::Eof) => return Ok(None),
            Ok(Event::Start(e) | Event::Empty(e)) => {
                if e.local_name().into_inner() != "Relationship" {
                    continue;
                }
                let attribute = |name| model::attribute(&e, name, at);
                if attribute("Type")?.as_deref() == Some(MODEL_RELATIONSHIP) {
                    return Ok(attribute("Target")?.map(std::borrow::Cow::into_owned));
                }
            }
            Ok(_) => {}
            Err(error) => return Err(model::xml_flaw(&error, reader.error_position())),
        }
    }
}
