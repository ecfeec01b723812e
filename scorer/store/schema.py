"""Tables of the store, and how an older store is brought up to date."""

from __future__ import annotations

import sqlite3

from scorer.errors import InputError

MIGRATIONS = (
    """
    create table home (
        id integer primary key,
        name text not null unique,
        listing text not null check (json_valid(listing)),
        version integer not null default 1,
        mark text not null default '' check (mark in ('', 'keep', 'aside')),
        note text not null default '',
        removed_at text
    ) strict;
    create table tag (
        id integer primary key,
        home_id integer not null references home (id) on delete cascade,
        tag text not null check (json_valid(tag)),
        undone_at text
    ) strict;
    create index tag_of_home on tag (home_id);
    create table room (
        home_id integer not null references home (id) on delete cascade,
        name text not null,
        room text not null check (json_valid(room)),
        primary key (home_id, name)
    ) strict, without rowid;
    create table choice (
        home_id integer not null references home (id) on delete cascade,
        option_id text not null,
        choice text not null check (choice in ('must', 'must_not')),
        primary key (home_id, option_id)
    ) strict, without rowid;
    create table reading (
        content_hash text not null,
        algorithm text not null,
        reading text not null check (json_valid(reading)),
        primary key (content_hash, algorithm)
    ) strict, without rowid;
    create table setting (
        name text primary key,
        value text not null check (json_valid(value))
    ) strict, without rowid;
    create table price_row (
        id text primary key,
        price_row text not null check (json_valid(price_row))
    ) strict, without rowid;
    create table job (
        id integer primary key,
        home_id integer not null references home (id) on delete cascade,
        job text not null check (json_valid(job)),
        undone_at text
    ) strict;
    create table decision (
        id integer primary key,
        home_id integer not null references home (id) on delete cascade,
        decided_at text not null,
        sentence text not null
    ) strict;
    """,
    """
    alter table home add column folder text not null default '';
    alter table home add column source text not null default 'own';
    alter table home add column problems text not null default '[]' check (json_valid(problems));
    create table photo (
        home_id integer not null references home (id) on delete cascade,
        name text not null,
        content_hash text not null,
        size_bytes integer not null,
        modified_ns integer not null,
        primary key (home_id, name)
    ) strict, without rowid;
    create table photo_room (
        home_id integer not null references home (id) on delete cascade,
        photo text not null,
        room text not null,
        primary key (home_id, photo)
    ) strict, without rowid;
    create table result (
        home_id integer primary key references home (id) on delete cascade,
        key text not null,
        result text not null
    ) strict;
    """,
    """
    create table taken_photo (
        id integer primary key,
        home_id integer not null references home (id) on delete cascade,
        file text not null,
        taken text not null check (json_valid(taken)),
        removed_at text
    ) strict;
    create index taken_photo_of_home on taken_photo (home_id);
    create table letting (
        id integer primary key,
        home_id integer not null references home (id) on delete cascade,
        letting text not null check (json_valid(letting)),
        undone_at text
    ) strict;
    create index letting_of_home on letting (home_id);
    """,
    """
    alter table home add column facts text not null default '{}' check (json_valid(facts));
    """,
)
"""Each step takes a store from one version to the next; a released step is never changed."""


def migrate(connection: sqlite3.Connection, path: str) -> None:
    """Bring a store to the newest version, in one transaction a step.

    Raises
    ------
    InputError
        If a later program wrote the store.
    """
    version = int(connection.execute("pragma user_version").fetchone()[0])
    if version > len(MIGRATIONS):
        raise InputError(
            f"{path} was written by a later version of this program; update the program, or move "
            "the file away to start anew."
        )
    for number in range(version, len(MIGRATIONS)):
        script = f"begin immediate;{MIGRATIONS[number]};pragma user_version = {number + 1};commit;"
        try:
            connection.executescript(script)
        except sqlite3.OperationalError:
            if connection.in_transaction:
                connection.execute("rollback")
            # Another process may have taken this step while we waited for its lock.
            if int(connection.execute("pragma user_version").fetchone()[0]) <= number:
                raise
