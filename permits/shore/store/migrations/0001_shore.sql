-- A ship as the shore knows it. A ship that begins a new log gets a new row; the old one has ended, and stays.
CREATE TABLE ships (
    id        bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name      text   NOT NULL,
    key       text   NOT NULL,            -- the one that signs now, as a note verifier key
    size      bigint NOT NULL DEFAULT 0,  -- entries ashore
    hash      text   NOT NULL DEFAULT '', -- of the tree of so many, 64 hex digits
    head      text   NOT NULL DEFAULT '', -- signed
    enrolled  bigint NOT NULL,            -- moments are microseconds since 1970, UTC; 0 is none
    ended     bigint NOT NULL DEFAULT 0,
    heard     bigint NOT NULL DEFAULT 0,  -- when the ship asked or sent last
    last      bigint NOT NULL DEFAULT 0,  -- of the newest entry
    latest    bigint NOT NULL DEFAULT 0,  -- what deciding needs of all entries: see Ends
    next      bigint NOT NULL DEFAULT 1,
    edition   bigint NOT NULL DEFAULT 0,
    plant     text   NOT NULL DEFAULT '', -- title of the plant file in force
    -- What the fleet board shows as of the newest entry, so that it need not look at the permits of every ship.
    open      bigint NOT NULL DEFAULT 0,  -- permits that are not over
    live      bigint NOT NULL DEFAULT 0,
    locks_on  bigint NOT NULL DEFAULT 0,
    signed_on bigint NOT NULL DEFAULT 0,
    passing   bigint NOT NULL DEFAULT 0,  -- points
    untils    bigint[] NOT NULL DEFAULT '{}', -- when each authorisation runs out
    tags_due  bigint[] NOT NULL DEFAULT '{}', -- when each tag that hangs is due for the sight audit
    plans_due bigint[] NOT NULL DEFAULT '{}'  -- when each plan in use is due for inspection
) WITH (fillfactor = 50); -- a row is written anew with every segment: there is room for it on its page

CREATE UNIQUE INDEX ships_name ON ships (name) WHERE ended = 0;
CREATE UNIQUE INDEX ships_key ON ships (key) WHERE ended = 0;

-- Every key that a ship had, with the act that brought it.
CREATE TABLE ship_keys (
    ship bigint NOT NULL REFERENCES ships (id),
    key  text   NOT NULL,
    at   bigint NOT NULL,
    act  text   NOT NULL, -- signed
    PRIMARY KEY (ship, key)
);

-- One-time codes: whoever has one enrols a ship's key under the name.
CREATE TABLE enrolments (
    digest text   PRIMARY KEY, -- SHA-256 of the code
    name   text   NOT NULL,
    anew   boolean NOT NULL,   -- the ship's log of before ends
    until  bigint NOT NULL,
    used   bigint NOT NULL DEFAULT 0,
    key    text   NOT NULL DEFAULT ''
);

CREATE TABLE alarms (
    id        bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    ship      bigint NOT NULL REFERENCES ships (id),
    kind      text   NOT NULL,
    at        bigint NOT NULL,
    words     text   NOT NULL,
    had       text   NOT NULL, -- signed head that the shore had
    got       text   NOT NULL, -- signed head that came
    mark      text   NOT NULL, -- the same alarm is kept once
    explained bigint NOT NULL DEFAULT 0,
    why       text   NOT NULL DEFAULT '',
    UNIQUE (ship, mark)
);
CREATE INDEX alarms_open ON alarms (ship) WHERE explained = 0;

-- The logs. Entry n of a ship is body n; hashes are its leaf and the subtrees that it completes (RFC 9162, 2.1).
CREATE TABLE entries (
    ship   bigint NOT NULL,
    n      bigint NOT NULL,
    at     bigint NOT NULL,
    permit bigint NOT NULL, -- 0: the whole ship
    kind   text   NOT NULL,
    shapes boolean NOT NULL, -- it must be read again to know the ship
    body   bytea  NOT NULL,
    hashes bytea  NOT NULL,
    PRIMARY KEY (ship, n)
) PARTITION BY HASH (ship);
CREATE INDEX entries_permit ON entries (ship, permit, n) WHERE permit > 0 AND kind <> 'refused';
CREATE INDEX entries_shapes ON entries (ship, n) WHERE shapes;

CREATE TABLE permits (
    ship         bigint NOT NULL,
    id           bigint NOT NULL,
    state        text   NOT NULL,
    over         bigint NOT NULL,
    job          text   NOT NULL,
    machine      text   NOT NULL,
    machine_name text   NOT NULL,
    title        text   NOT NULL,
    work         text   NOT NULL,
    exposure     text   NOT NULL,
    requested_by text   NOT NULL,
    requested_at bigint NOT NULL,
    changed      bigint NOT NULL,
    until        bigint NOT NULL, -- 0: not authorised
    locks        bigint NOT NULL,
    locks_on     bigint NOT NULL,
    signed_on    bigint NOT NULL,
    entries      bigint NOT NULL,
    last_entry   bigint NOT NULL,
    kinds        text   NOT NULL,
    accepted     bigint NOT NULL, -- when it was accepted first; 0: it was not
    PRIMARY KEY (ship, id)
) PARTITION BY HASH (ship);
CREATE INDEX permits_open ON permits (ship, id) WHERE over = 0;
CREATE INDEX permits_requested ON permits (requested_at);

DO $$ BEGIN
    FOR i IN 0..31 LOOP
        EXECUTE format('CREATE TABLE entries_%s PARTITION OF entries FOR VALUES WITH (MODULUS 32, REMAINDER %s)', i, i);
        EXECUTE format('CREATE TABLE permits_%s PARTITION OF permits FOR VALUES WITH (MODULUS 32, REMAINDER %s)', i, i);
    END LOOP;
END $$;

-- Who used the plan of which job, from the first to the last day, in days since 1970 UTC.
CREATE TABLE uses (
    ship   bigint NOT NULL,
    job    text   NOT NULL,
    person text   NOT NULL,
    first  bigint NOT NULL,
    last   bigint NOT NULL,
    PRIMARY KEY (ship, job, person)
);

CREATE TABLE refusals (
    ship bigint NOT NULL,
    day  bigint NOT NULL, -- since 1970 UTC
    gate text   NOT NULL,
    n    bigint NOT NULL,
    PRIMARY KEY (ship, day, gate)
);

-- Points found passing, by the entry that says so.
CREATE TABLE passings (
    ship     bigint NOT NULL,
    n        bigint NOT NULL,
    at       bigint NOT NULL,
    point    text   NOT NULL,
    kind     text   NOT NULL, -- of the point
    place    text   NOT NULL,
    words    text   NOT NULL,
    repaired bigint NOT NULL DEFAULT 0,
    PRIMARY KEY (ship, n)
);
CREATE INDEX passings_open ON passings (ship, point) WHERE repaired = 0;
CREATE INDEX passings_at ON passings (at);

CREATE TABLE audits (
    ship   bigint NOT NULL,
    n      bigint NOT NULL,
    at     bigint NOT NULL,
    tags   bigint NOT NULL,
    late   boolean NOT NULL, -- tags could go unseen for too long before it
    PRIMARY KEY (ship, n)
);

-- The plant file and the rules in force.
CREATE TABLE files (
    ship bigint NOT NULL,
    what text   NOT NULL, -- plant, rules
    n    bigint NOT NULL, -- entry
    name text   NOT NULL,
    text text   NOT NULL,
    PRIMARY KEY (ship, what)
);

-- The people of the office. One with a ship sees that ship alone.
CREATE TABLE office (
    name  text   PRIMARY KEY,
    hash  text   NOT NULL,
    ship  text   NOT NULL DEFAULT '',
    gone  bigint NOT NULL DEFAULT 0,
    wrong bigint NOT NULL DEFAULT 0, -- wrong passwords since the last right one
    tried bigint NOT NULL DEFAULT 0
);
CREATE TABLE sessions (
    token text   PRIMARY KEY, -- SHA-256 of the token
    data  bytea  NOT NULL,
    until bigint NOT NULL
);
CREATE INDEX sessions_until ON sessions (until);
