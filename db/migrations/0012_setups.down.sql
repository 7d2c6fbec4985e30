DROP FUNCTION release_told;
DROP TABLE setup;
ALTER TABLE job DROP COLUMN cancelled_on, DROP COLUMN told_state, DROP COLUMN told_bench_date;
