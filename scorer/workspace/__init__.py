"""The user's homes, kept and screened: what the page shows and changes."""

from scorer.workspace.photo_shelf import PhotoShelf
from scorer.workspace.reader import Reader
from scorer.workspace.workspace import Answered, Imported, Screened, Workspace, tag_now

__all__ = ["Answered", "Imported", "PhotoShelf", "Reader", "Screened", "Workspace", "tag_now"]
