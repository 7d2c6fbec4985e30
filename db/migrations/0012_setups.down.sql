DROP TABLE setup;
ALTER TABLE job DROP COLUMN cancelled_on;
