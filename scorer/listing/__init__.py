"""Folders and listing files, with RESO Data Dictionary names, turned into listings."""

from scorer.listing.demo import demo_folder
from scorer.listing.folder import read_home, read_homes, row_beside
from scorer.listing.listing import Listing, PhotoFile, Problem
from scorer.listing.missing import missing_facts

__all__ = [
    "Listing",
    "PhotoFile",
    "Problem",
    "demo_folder",
    "missing_facts",
    "read_home",
    "read_homes",
    "row_beside",
]
