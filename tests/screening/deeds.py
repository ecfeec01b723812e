"""What tests have workers of a cluster do; they import it by name."""

from __future__ import annotations

import ctypes
import os

from scorer.photos.reading import Reading
from scorer.screening import cluster, methods
from scorer.screening.pool import Job
from scorer.screening.weighing import HomeInput, Weighed, weigh


def be_of_another_version() -> None:
    """Make this worker one of another version of the program."""
    cluster.program_version = lambda: "another"


def be_of_this_version() -> None:
    """Undo :func:`be_of_another_version`."""
    cluster.program_version = methods.program_version


def read_deadly(job: Job) -> Reading:
    """Die of one photo, and never come back from another."""
    if job.name == "deadly.jpg":
        os._exit(9)
    if job.name == "endless.jpg":  # PyDLL keeps the interpreter's lock, as a decoder may
        ctypes.PyDLL(None).sleep(300)
    return Reading(file=job.name)


def weigh_deadly(home: HomeInput) -> Weighed:
    """Die of one home, and never come back from another."""
    if home.listing.home == "deadly":
        os._exit(9)
    if home.listing.home == "endless":
        ctypes.PyDLL(None).sleep(300)
    return weigh(home)
