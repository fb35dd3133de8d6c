"""Score a parts library on a Spark cluster: paths in, one Parquet table out.

    spark-submit spark_job.py LIST OUT [--wayup PROGRAM] [--batch N] [-- FLAGS...]

LIST is a text file with a path on each line, OUT a folder for the table (of any file system
that the cluster writes to); every worker must see the parts under the paths of the list.
PROGRAM is copied to the workers with the job, so that nothing need be installed there. FLAGS
go to `wayup library -` as they are, for example `-- --material PETG --limit 50`.

The list is cut into batches. Each batch is one task: it starts one `wayup library -`, writes
the paths to its standard input and reads one JSON line for each part back. A task whose worker
dies is given to another worker by Spark, whose Parquet files appear only when a task is done:
no part is lost and none is there twice. A part that cannot be read is a row with `error`, no
reason to stop.
"""

import argparse
import json
import os
import subprocess
import sys
import threading

from pyspark import SparkFiles
from pyspark.sql import SparkSession
from pyspark.sql.types import BooleanType, DoubleType, StringType, StructField, StructType

# Columns that queries ask for most; all the rest is in `record`, for get_json_object.
COLUMNS = {
    "confidence": (StringType(), ("confidence",)),
    "closed": (BooleanType(), ("part", "closed")),
    "volume_mm3": (DoubleType(), ("part", "volume_mm3")),
    "total": (DoubleType(), ("poses", 0, "total")),
    "height_mm": (DoubleType(), ("poses", 0, "figures", "height_mm")),
    "contact_area_mm2": (DoubleType(), ("poses", 0, "figures", "contact_area_mm2")),
    "support_after_bridges_mm3": (DoubleType(), ("poses", 0, "figures", "support_after_bridges_mm3")),
    "print_min": (DoubleType(), ("poses", 0, "figures", "print_min")),
    "total_as_stored": (DoubleType(), ("as_stored", "total")),
}
SCHEMA = StructType(
    [StructField("path", StringType(), False), StructField("sha256", StringType()), StructField("error", StringType())]
    + [StructField(name, kind) for name, (kind, _) in COLUMNS.items()]
    + [StructField("record", StringType(), False)])
# Exit codes of `wayup library -` with which every path has had its line.
ANSWERED = (0, 1)


def value(record, steps):
    """What lies along a way into a record, or None."""
    for step in steps:
        if isinstance(step, int):
            record = record[step] if isinstance(record, list) and len(record) > step else None
        else:
            record = record.get(step) if isinstance(record, dict) else None
    return float(record) if isinstance(record, int) and not isinstance(record, bool) else record


def row(line):
    """A row of the table from a line of the program."""
    record = json.loads(line)
    part, error = record["part"], record.get("error")
    return (part["path"], part.get("sha256"), error["text"] if error else None,
            *(value(record, steps) for _, steps in COLUMNS.values()), line)


def score(paths, program, flags):
    """Rows of one batch, as the program gives them."""
    paths = list(paths)
    if not paths:
        return
    command = [SparkFiles.get(program), "library", "-", *flags]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                          encoding="utf-8") as child:
        said = []
        # Both ends at once: a full pipe on one side must not stop the other.
        threads = [threading.Thread(target=feed, args=(child.stdin, paths)),
                   threading.Thread(target=lambda: said.append(child.stderr.read()))]
        for thread in threads:
            thread.start()
        count = 0
        for line in child.stdout:
            count += 1
            yield row(line.rstrip("\n"))
        for thread in threads:
            thread.join()
    if child.returncode not in ANSWERED or count != len(paths):
        raise RuntimeError(f"wayup gave {count} answers to {len(paths)} paths and ended with "
                           f"{child.returncode}: {''.join(said)[-2000:]}")


def feed(pipe, paths):
    """Write the paths, a line each. A program that has gone away says so by its exit code."""
    try:
        with pipe:
            pipe.writelines(path + "\n" for path in paths)
    except BrokenPipeError:
        pass


def main():
    """Run the job; the session is the one that spark-submit set up."""
    words = argparse.ArgumentParser(description="Score a parts library on a Spark cluster")
    words.add_argument("list")
    words.add_argument("out")
    words.add_argument("--wayup", default="wayup", help="the program, to be copied to the workers")
    words.add_argument("--batch", type=int, default=200, help="parts of one task [default: 200]")
    words.epilog = "What stands after -- goes to wayup library."
    cut = sys.argv.index("--") if "--" in sys.argv else len(sys.argv)
    given, flags = words.parse_args(sys.argv[1:cut]), sys.argv[cut + 1:]
    with open(given.list, encoding="utf-8") as text:
        paths = list(dict.fromkeys(line.rstrip("\r\n") for line in text if line.strip()))
    spark = SparkSession.builder.appName("wayup library").getOrCreate()
    spark.sparkContext.addFile(given.wayup)
    program = os.path.basename(given.wayup)
    batches = max(1, -(-len(paths) // given.batch))
    rows = spark.sparkContext.parallelize(paths, batches).mapPartitions(
        lambda some: score(some, program, flags))
    spark.createDataFrame(rows, SCHEMA).write.mode("overwrite").parquet(given.out)
    table = spark.read.parquet(given.out)
    count, unread = table.count(), table.where("error is not null").count()
    print(f"{count} parts, {unread} of them unread", flush=True)
    spark.stop()
    return 0 if count == len(paths) else 1


if __name__ == "__main__":
    sys.exit(main())
