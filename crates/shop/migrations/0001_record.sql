-- What the record as a whole is. The format is the version of the entries: a program refuses one it does not know.
CREATE TABLE record (
    one      BIGINT NOT NULL PRIMARY KEY CHECK (one = 1),
    format   BIGINT NOT NULL,
    next_job BIGINT NOT NULL
);

-- The logs. Rows are only ever added. Job 0 is the shop's own log.
CREATE TABLE entry (
    job           BIGINT NOT NULL,
    seq           BIGINT NOT NULL CHECK (seq > 0),
    id            TEXT   NOT NULL UNIQUE,
    who           TEXT   NOT NULL,
    done          TEXT   NOT NULL,
    received      TEXT   NOT NULL,
    sheet_version BIGINT NOT NULL,
    corrects      TEXT,
    kind          TEXT   NOT NULL,
    body          TEXT   NOT NULL,
    hash          TEXT   NOT NULL,
    PRIMARY KEY (job, seq)
);

-- One row for each job, for lists and searches: what its log adds up to. It can be made again from the log at any time.
CREATE TABLE head (
    job       BIGINT NOT NULL PRIMARY KEY,
    seq       BIGINT NOT NULL,
    hash      TEXT   NOT NULL,
    stage     TEXT   NOT NULL,
    since     TEXT   NOT NULL,
    updated   TEXT   NOT NULL,
    mark      TEXT   NOT NULL,
    customer  TEXT   NOT NULL,
    telephone TEXT   NOT NULL,
    crank     TEXT   NOT NULL,
    promised  TEXT   NOT NULL,
    batch     TEXT   NOT NULL,
    flags     BIGINT NOT NULL,
    revision  BIGINT NOT NULL,
    put_away  BIGINT NOT NULL,
    example   BIGINT NOT NULL,
    find      TEXT   NOT NULL,
    digits    TEXT   NOT NULL
);

CREATE INDEX head_by_stage ON head (put_away, example, stage, updated);
CREATE INDEX head_by_batch ON head (batch, job);

-- Photographs by the hash of their bytes.
CREATE TABLE picture (
    hash   TEXT   NOT NULL PRIMARY KEY,
    width  BIGINT NOT NULL,
    height BIGINT NOT NULL,
    jpeg   BYTEA  NOT NULL
);
