DROP TABLE import;
DROP FUNCTION import_movements, import_faults, import_lots, stage, post_import;
DROP AGGREGATE chain(bytea, bytea);
DROP FUNCTION chain_next, content, on_shelf;
