#!/usr/bin/env bash
# Score a parts library as a Slurm job array: one task for each share of the list.
#
#   sbatch --array=0-63 share.sh LIST OUT [FLAGS...]
#
# LIST is a text file with a path on each line, OUT a folder that all nodes share. Task k of n
# takes the lines whose number leaves k when divided by n, so a slow folder is spread over all
# of them. FLAGS go to `wayup library`, for example --material PETG.
#
# Each task keeps its records in OUT/share-k, and goes on there where it stopped: after a node
# was lost or the time ran out, send the same line again (or let Slurm requeue it). A task that
# has answers to all its paths ends with 0, also where some part could not be read: that part
# has a record with `error`. Afterwards:
#
#   sort -m OUT/share-*/parts.jsonl > parts.jsonl     # or read OUT/share-*/parts.parquet as one table
#
#SBATCH --job-name=wayup
#SBATCH --cpus-per-task=2
#SBATCH --mem-per-cpu=1G
#SBATCH --time=04:00:00
#SBATCH --requeue
#SBATCH --output=wayup-%A-%a.log
set -euo pipefail

list=$1 out=$2
shift 2
task=$((SLURM_ARRAY_TASK_ID - ${SLURM_ARRAY_TASK_MIN:-0}))
tasks=$SLURM_ARRAY_TASK_COUNT
share=$out/share-$task
mkdir -p "$share"
# A list under its final name is a whole one.
awk -v n="$tasks" -v k="$task" 'NR % n == k' "$list" >"$share/list.new"
mv "$share/list.new" "$share/list.txt"

code=0
"${WAYUP:-wayup}" library "$share/list.txt" --out "$share" --threads "${SLURM_CPUS_PER_TASK:-1}" "$@" || code=$?
# 1: done, but some part of it could not be read.
[ "$code" -le 1 ] || exit "$code"
