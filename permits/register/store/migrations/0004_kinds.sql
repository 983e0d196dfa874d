-- Of which kinds the work is, with commas between and around; permits of before had none.
ALTER TABLE permits ADD COLUMN kinds TEXT NOT NULL DEFAULT '';

-- What happened from one day to another, of one kind.
CREATE INDEX entry_kind_at ON entry_index (kind, at, permit);
