-- Who used the plan of which job, from the first to the last day, in days since 1970 UTC: a projection.
CREATE TABLE uses (
    job    TEXT NOT NULL,
    person TEXT NOT NULL,
    first  INTEGER NOT NULL,
    last   INTEGER NOT NULL,
    PRIMARY KEY (job, person)
) STRICT, WITHOUT ROWID;

INSERT INTO uses
SELECT p.job, i.person, min(i.at) / 86400000000, max(i.at) / 86400000000
FROM entry_index i JOIN permits p ON p.id = i.permit
WHERE i.kind IN ('request', 'authorise', 'fit lock') GROUP BY p.job, i.person;

-- On which permits somebody acted, for the search.
CREATE INDEX entry_who ON entry_index (person, permit) WHERE permit > 0;
