"""The clock's buckets, from which labels are taken in turn, compiled."""

from __future__ import annotations

from routing.planning.labelling.columns import FINISH, LINK, Whole
from routing.planning.running.compiled import compiled


@compiled
def queue_labels(first: int, end: int, labels: Whole, width: int, buckets: Whole) -> None:
    """Put the labels from `first` to before `end` into the buckets of the clock."""
    for label in range(first, end):
        bucket = labels[FINISH, label] // width
        labels[LINK, label], buckets[bucket] = buckets[bucket], label


@compiled
def next_of(bucket: int, labels: Whole, buckets: Whole) -> tuple[int, int]:
    """Take the next label out of the clock's buckets, from one on; return the bucket and the label, -1 for none."""
    while bucket < len(buckets) and buckets[bucket] < 0:
        bucket += 1
    if bucket == len(buckets):
        return bucket, -1
    label = buckets[bucket]
    buckets[bucket] = labels[LINK, label]
    return bucket, int(label)
