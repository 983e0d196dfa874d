-- The log. Entry n is body n; its leaf and the subtrees that it completes are hashes n (RFC 6962, 32 bytes each).
CREATE TABLE entries (
    n    INTEGER PRIMARY KEY,
    body BLOB NOT NULL
) STRICT;

CREATE TABLE tree (
    n      INTEGER PRIMARY KEY,
    hashes BLOB NOT NULL
) STRICT;

CREATE TABLE head (
    one  INTEGER PRIMARY KEY CHECK (one = 1),
    size INTEGER NOT NULL,
    note TEXT NOT NULL
) STRICT;

-- Guards: an entry is never changed, never removed, and comes in its order. The last also stops INSERT OR REPLACE,
-- which deletes without firing a delete trigger.
CREATE TRIGGER entries_no_update BEFORE UPDATE ON entries
BEGIN SELECT RAISE(ABORT, 'an entry of the log is never changed'); END;

CREATE TRIGGER entries_no_delete BEFORE DELETE ON entries
BEGIN SELECT RAISE(ABORT, 'an entry of the log is never removed'); END;

CREATE TRIGGER entries_in_order BEFORE INSERT ON entries
WHEN NEW.n IS NOT (SELECT coalesce(max(n) + 1, 0) FROM entries)
BEGIN SELECT RAISE(ABORT, 'an entry of the log comes in its order'); END;

CREATE TRIGGER tree_no_update BEFORE UPDATE ON tree
BEGIN SELECT RAISE(ABORT, 'a hash of the log is never changed'); END;

CREATE TRIGGER tree_no_delete BEFORE DELETE ON tree
BEGIN SELECT RAISE(ABORT, 'a hash of the log is never removed'); END;

CREATE TRIGGER tree_in_order BEFORE INSERT ON tree
WHEN NEW.n IS NOT (SELECT coalesce(max(n) + 1, 0) FROM tree)
BEGIN SELECT RAISE(ABORT, 'a hash of the log comes in its order'); END;

CREATE TRIGGER head_no_delete BEFORE DELETE ON head
BEGIN SELECT RAISE(ABORT, 'the head of the log is never removed'); END;

CREATE TRIGGER head_never_back BEFORE UPDATE ON head
WHEN NEW.size < OLD.size
BEGIN SELECT RAISE(ABORT, 'the head of the log never goes back'); END;

-- Projections: rebuildable from the log, compared with it by the verification.
CREATE TABLE entry_index (
    n      INTEGER PRIMARY KEY,
    at     INTEGER NOT NULL, -- microseconds since 1970, UTC
    act_id TEXT NOT NULL,
    kind   TEXT NOT NULL,
    permit INTEGER NOT NULL, -- 0: the whole ship
    person TEXT NOT NULL,    -- who acted
    about  TEXT NOT NULL     -- whom it is about, where that is somebody
) STRICT;
CREATE UNIQUE INDEX entry_once ON entry_index (act_id) WHERE kind <> 'refused';
CREATE INDEX entry_refused ON entry_index (act_id) WHERE kind = 'refused';
CREATE INDEX entry_permit ON entry_index (permit, n) WHERE permit > 0;
CREATE INDEX entry_person ON entry_index (person, n);
CREATE INDEX entry_about ON entry_index (about, n) WHERE about <> '';
CREATE INDEX entry_kind ON entry_index (kind, n);
CREATE INDEX entry_at ON entry_index (at);

CREATE TABLE point_index (
    point TEXT NOT NULL,
    n     INTEGER NOT NULL,
    PRIMARY KEY (point, n)
) STRICT, WITHOUT ROWID;

CREATE TABLE permits (
    id           INTEGER PRIMARY KEY,
    state        TEXT NOT NULL,
    over         INTEGER NOT NULL,
    job          TEXT NOT NULL,
    machine      TEXT NOT NULL,
    machine_name TEXT NOT NULL,
    title        TEXT NOT NULL,
    work         TEXT NOT NULL,
    exposure     TEXT NOT NULL,
    requested_by TEXT NOT NULL,
    requested_at INTEGER NOT NULL,
    changed      INTEGER NOT NULL,
    until        INTEGER NOT NULL, -- 0: not authorised
    locks        INTEGER NOT NULL,
    locks_on     INTEGER NOT NULL,
    signed_on    INTEGER NOT NULL,
    entries      INTEGER NOT NULL,
    last_entry   INTEGER NOT NULL
) STRICT;
CREATE INDEX permits_open ON permits (id) WHERE over = 0;
CREATE INDEX permits_machine ON permits (machine, id);

-- What must not be in the log: the codes whose digests are there, hashes of PINs, sessions.
CREATE TABLE codes (
    digest TEXT PRIMARY KEY,
    code   TEXT NOT NULL,
    kind   TEXT NOT NULL,
    permit INTEGER NOT NULL,
    step   INTEGER NOT NULL,
    point  TEXT NOT NULL,
    issued INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX codes_permit ON codes (permit, step);

CREATE TABLE pins (
    person TEXT PRIMARY KEY,
    hash   TEXT NOT NULL,
    entry  INTEGER NOT NULL, -- by which it was set
    seal   TEXT NOT NULL     -- over the row, by the ship's secret
) STRICT, WITHOUT ROWID;

CREATE TABLE sessions (
    token TEXT PRIMARY KEY, -- SHA-256 of the token
    data  BLOB NOT NULL,
    until INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX sessions_until ON sessions (until);

CREATE TABLE marks (
    name  TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;
