-- The same text runs on SQLite and PostgreSQL. Times are milliseconds since
-- 1970 UTC; 0 stands for "not". "no" counts everything that was ever added to
-- one record, so a pair (record, no) names a row here and wherever the record
-- is taken.

-- +goose Up
CREATE TABLE records (
    id         TEXT PRIMARY KEY,
    title      TEXT NOT NULL,
    setup      TEXT NOT NULL,
    notes      TEXT NOT NULL,
    version    BIGINT NOT NULL, -- goes up by one with every save
    last_no    BIGINT NOT NULL, -- the highest no given out
    created    BIGINT NOT NULL,
    created_by TEXT NOT NULL,
    saved      BIGINT NOT NULL, -- when this version was made
    saved_by   TEXT NOT NULL,
    touched    BIGINT NOT NULL, -- when anything of it last changed, readings included
    removed    BIGINT NOT NULL,
    words      TEXT NOT NULL    -- what Find looks through, folded
);
CREATE INDEX records_touched ON records (touched, id);

CREATE TABLE tags (
    record TEXT NOT NULL REFERENCES records (id),
    tag    TEXT NOT NULL,
    PRIMARY KEY (record, tag)
);
CREATE INDEX tags_tag ON tags (tag);

CREATE TABLE originals (
    record     TEXT NOT NULL REFERENCES records (id),
    no         BIGINT NOT NULL,
    name       TEXT NOT NULL,
    media_type TEXT NOT NULL,
    sha256     TEXT NOT NULL,
    size       BIGINT NOT NULL,
    content    BYTEA NOT NULL,
    author     TEXT NOT NULL,
    at         BIGINT NOT NULL,
    PRIMARY KEY (record, no)
);

CREATE TABLE runs (
    record      TEXT NOT NULL REFERENCES records (id),
    no          BIGINT NOT NULL,
    name        TEXT NOT NULL,
    kind        TEXT NOT NULL,
    unit        TEXT NOT NULL,   -- of the values as typed
    aliquot     TEXT NOT NULL,
    left_out    TEXT NOT NULL,   -- the reason; '' takes part
    place       BIGINT NOT NULL, -- order of the runs
    original_no BIGINT,          -- the file that it was read from
    author      TEXT NOT NULL,
    at          BIGINT NOT NULL,
    PRIMARY KEY (record, no),
    FOREIGN KEY (record, original_no) REFERENCES originals (record, no)
);

-- Rows are only ever added. The reading at a place is its row with the highest no.
CREATE TABLE readings (
    record      TEXT NOT NULL,
    no          BIGINT NOT NULL,
    run         BIGINT NOT NULL,
    place       BIGINT NOT NULL, -- order in the run, with gaps for readings put in between
    replaces    BIGINT,
    volume      TEXT NOT NULL,
    value       TEXT NOT NULL,
    time        TEXT NOT NULL,
    temperature TEXT NOT NULL,
    state       TEXT NOT NULL,
    author      TEXT NOT NULL,
    at          BIGINT NOT NULL,
    why         TEXT NOT NULL,
    PRIMARY KEY (record, no),
    UNIQUE (record, replaces),   -- a row is replaced once, so nothing is overwritten unseen
    FOREIGN KEY (record, run) REFERENCES runs (record, no),
    FOREIGN KEY (record, replaces) REFERENCES readings (record, no)
);
CREATE INDEX readings_place ON readings (record, run, place, no);

CREATE TABLE changes (
    record TEXT NOT NULL REFERENCES records (id),
    no     BIGINT NOT NULL,
    author TEXT NOT NULL,
    at     BIGINT NOT NULL,
    why    TEXT NOT NULL,
    what   TEXT NOT NULL,
    was    TEXT NOT NULL,
    became TEXT NOT NULL,
    PRIMARY KEY (record, no)
);

CREATE TABLE results (
    record  TEXT NOT NULL REFERENCES records (id),
    no      BIGINT NOT NULL,
    result  TEXT NOT NULL, -- JSON, byte for byte
    program TEXT NOT NULL,
    inputs  TEXT NOT NULL, -- SHA-256 of what it was computed from
    author  TEXT NOT NULL,
    at      BIGINT NOT NULL,
    PRIMARY KEY (record, no)
);

CREATE TABLE settings (
    name  TEXT PRIMARY KEY,
    value TEXT NOT NULL
);
