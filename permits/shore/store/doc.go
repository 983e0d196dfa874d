// Package store keeps what the shore has of its ships in PostgreSQL: tables, rows, every read and write. Nobody else
// ashore speaks SQL.
//
// Pages read through gorm. What a segment brings goes by the driver's own COPY, in one transaction that holds the
// ship's row: gorm has no word for COPY, and an insert of each row takes several times as long.
//
// It must not know acts, gates or pages. It owns every table of its database; migrations holds them.
//
// Begin with Open, Database.InShip and Tables.
package store
