-- The list of jobs says of each row what it was written as: `hash`, then `.key.code` where a key is kept beside the record.
ALTER TABLE head ADD COLUMN seal TEXT NOT NULL DEFAULT '';

-- The name of the key that seals this record; `none` without a key, empty while an older record is still to be sealed.
ALTER TABLE record ADD COLUMN sealed_with TEXT NOT NULL DEFAULT '';

UPDATE record SET format = 2;
