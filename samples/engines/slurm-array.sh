#!/usr/bin/env bash
# A batch as a Slurm job array: each task makes one of 16 shards, on the processors it is given.
#
#   id=$(sbatch --parsable slurm-array.sh jobs out)
#   sbatch --dependency="afterok:$id" --wrap "decant merge out -o all"
#
# JOBS and OUT lie on a file system that every node sees. A task that was stopped is sent in again by itself, with
# `sbatch --array=7 slurm-array.sh jobs out`: it makes only what was not finished.
#SBATCH --job-name=decant-batch
#SBATCH --array=1-16
#SBATCH --ntasks=1
#SBATCH --cpus-per-task=4
#SBATCH --mem-per-cpu=256M
#SBATCH --time=04:00:00
#SBATCH --requeue
set -euo pipefail

# As in --array above. Not SLURM_ARRAY_TASK_COUNT: that is 1 when a single task is sent in again.
shards=16
jobs=${1:?the folder of the jobs}
out=${2:?the folder to write into}
if [ "$SLURM_ARRAY_TASK_ID" -lt 1 ] || [ "$SLURM_ARRAY_TASK_ID" -gt $shards ]; then
    echo "task $SLURM_ARRAY_TASK_ID is none of $shards shards: --array and shards must agree" >&2
    exit 2
fi
exec decant batch "$jobs" -o "$out" --shard "$SLURM_ARRAY_TASK_ID/$shards" --workers "${SLURM_CPUS_PER_TASK:-1}"
