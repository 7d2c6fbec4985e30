DROP FUNCTION import_sheets;
