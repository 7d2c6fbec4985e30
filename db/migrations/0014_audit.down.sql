ALTER TABLE bom_line DROP COLUMN note;
ALTER TABLE job DROP COLUMN done_by;
DROP TABLE disposal;
DROP TABLE count_part;
DROP TABLE container;
