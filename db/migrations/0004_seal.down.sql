DROP FUNCTION seal_day;
DROP TABLE seal_head, seal;
