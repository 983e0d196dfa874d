-- Nothing is looked for by its time: entries stand in the order of their numbers, which is the order of time.
DROP INDEX lines_at;
