DROP FUNCTION refresh_statistics;
