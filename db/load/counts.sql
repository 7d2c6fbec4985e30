-- Rows of each table: in the book, and of the workshop.
SELECT 'settings', (SELECT count(*) FROM staged_settings), (SELECT count(*) FROM setting WHERE workshop = @workshop)
UNION ALL SELECT 'suppliers', (SELECT count(*) FROM staged_suppliers),
    (SELECT count(*) FROM supplier WHERE workshop = @workshop)
UNION ALL SELECT 'items', (SELECT count(*) FROM staged_items), (SELECT count(*) FROM item WHERE workshop = @workshop)
UNION ALL SELECT 'offers', (SELECT count(*) FROM staged_offers),
    (SELECT count(*) FROM offer WHERE workshop = @workshop)
UNION ALL SELECT 'kits', (SELECT count(*) FROM staged_kits),
    (SELECT count(*) FROM kit_part WHERE workshop = @workshop)
UNION ALL SELECT 'alternates', (SELECT count(*) FROM staged_alternates),
    (SELECT count(*) FROM alternate WHERE workshop = @workshop)
UNION ALL SELECT 'models', (SELECT count(*) FROM staged_models),
    (SELECT count(*) FROM model WHERE workshop = @workshop)
UNION ALL SELECT 'services', (SELECT count(*) FROM staged_services),
    (SELECT count(*) FROM service WHERE workshop = @workshop)
UNION ALL SELECT 'bom', (SELECT count(*) FROM staged_bom), (SELECT count(*) FROM bom_line WHERE workshop = @workshop)
UNION ALL SELECT 'units', (SELECT count(*) FROM staged_units), (SELECT count(*) FROM unit WHERE workshop = @workshop)
UNION ALL SELECT 'readings', (SELECT count(*) FROM staged_readings),
    (SELECT count(*) FROM reading WHERE workshop = @workshop)
UNION ALL SELECT 'season', (SELECT count(*) FROM staged_season),
    (SELECT count(*) FROM season WHERE workshop = @workshop)
UNION ALL SELECT 'jobs', (SELECT count(*) FROM staged_jobs), (SELECT count(*) FROM job WHERE workshop = @workshop)
UNION ALL SELECT 'job_use', (SELECT count(*) FROM staged_job_use),
    (SELECT count(*) FROM job_use WHERE workshop = @workshop)
UNION ALL SELECT 'stock', (SELECT count(*) FROM staged_stock),
    (SELECT count(*) FROM stock_row WHERE workshop = @workshop)
UNION ALL SELECT 'orders', (SELECT count(*) FROM staged_orders),
    (SELECT count(*) FROM order_line WHERE workshop = @workshop)
UNION ALL SELECT 'counts', (SELECT count(*) FROM staged_counts),
    (SELECT count(*) FROM item_count WHERE workshop = @workshop)
