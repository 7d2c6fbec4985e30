-- Rows of each table: in the book, of the workshop, and of both.
SELECT 'settings',
    (SELECT count(*) FROM staged_settings),
    (SELECT count(*) FROM setting WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_settings AS s JOIN setting AS t ON t.workshop = @workshop AND t.key = s.key)
UNION ALL SELECT 'suppliers',
    (SELECT count(*) FROM staged_suppliers),
    (SELECT count(*) FROM supplier WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_suppliers AS s JOIN supplier AS t ON t.workshop = @workshop AND t.supplier = s.supplier)
UNION ALL SELECT 'holidays',
    (SELECT count(*) FROM staged_holidays),
    (SELECT count(*) FROM holiday WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_holidays AS s JOIN holiday AS t ON t.workshop = @workshop AND t.day = s.date AND t.supplier = s.supplier)
UNION ALL SELECT 'items',
    (SELECT count(*) FROM staged_items),
    (SELECT count(*) FROM item WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_items AS s JOIN item AS t ON t.workshop = @workshop AND t.item = s.item)
UNION ALL SELECT 'offers',
    (SELECT count(*) FROM staged_offers),
    (SELECT count(*) FROM offer WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_offers AS s JOIN offer AS t ON t.workshop = @workshop AND t.item = s.item AND t.supplier = s.supplier AND t.from_packs = s.from_packs)
UNION ALL SELECT 'kits',
    (SELECT count(*) FROM staged_kits),
    (SELECT count(*) FROM kit_part WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_kits AS s JOIN kit_part AS t ON t.workshop = @workshop AND t.kit = s.kit AND t.item = s.item)
UNION ALL SELECT 'alternates',
    (SELECT count(*) FROM staged_alternates),
    (SELECT count(*) FROM alternate WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_alternates AS s JOIN alternate AS t ON t.workshop = @workshop AND t.item = s.item AND t.alternate = s.alternate)
UNION ALL SELECT 'grooves',
    (SELECT count(*) FROM staged_grooves),
    (SELECT count(*) FROM groove WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_grooves AS s JOIN groove AS t ON t.workshop = @workshop AND t.item = s.item)
UNION ALL SELECT 'containers',
    (SELECT count(*) FROM staged_containers),
    (SELECT count(*) FROM container WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_containers AS s JOIN container AS t ON t.workshop = @workshop AND t.container = s.container)
UNION ALL SELECT 'models',
    (SELECT count(*) FROM staged_models),
    (SELECT count(*) FROM model WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_models AS s JOIN model AS t ON t.workshop = @workshop AND t.model = s.model)
UNION ALL SELECT 'services',
    (SELECT count(*) FROM staged_services),
    (SELECT count(*) FROM service WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_services AS s JOIN service AS t ON t.workshop = @workshop AND t.service = s.service)
UNION ALL SELECT 'bom',
    (SELECT count(*) FROM staged_bom),
    (SELECT count(*) FROM bom_line WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_bom AS s JOIN bom_line AS t ON t.workshop = @workshop AND t.service = s.service AND t.model = s.model AND t.item = s.item AND t.valid_from = coalesce(s."from", '-infinity'))
UNION ALL SELECT 'units',
    (SELECT count(*) FROM staged_units),
    (SELECT count(*) FROM unit WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_units AS s JOIN unit AS t ON t.workshop = @workshop AND t.unit = s.unit)
UNION ALL SELECT 'readings',
    (SELECT count(*) FROM staged_readings),
    (SELECT count(*) FROM reading WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_readings AS s JOIN reading AS t ON t.workshop = @workshop AND t.unit = s.unit AND t.read_on = s.date)
UNION ALL SELECT 'season',
    (SELECT count(*) FROM staged_season),
    (SELECT count(*) FROM season WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_season AS s JOIN season AS t ON t.workshop = @workshop AND t.week = s.week)
UNION ALL SELECT 'jobs',
    (SELECT count(*) FROM staged_jobs),
    (SELECT count(*) FROM job WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_jobs AS s JOIN job AS t ON t.workshop = @workshop AND t.job = s.job)
UNION ALL SELECT 'setups',
    (SELECT count(*) FROM staged_setups),
    (SELECT count(*) FROM setup WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_setups AS s JOIN setup AS t ON t.workshop = @workshop AND t.job = s.job AND t.moment = s.moment)
UNION ALL SELECT 'job_use',
    (SELECT count(*) FROM staged_job_use),
    (SELECT count(*) FROM job_use WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_job_use AS s JOIN job_use AS t ON t.workshop = @workshop AND t.job = s.job AND t.item = s.item AND t.lot = s.lot)
UNION ALL SELECT 'stock',
    (SELECT count(*) FROM staged_stock),
    (SELECT count(*) FROM stock_row WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_stock AS s JOIN stock_row AS t ON t.workshop = @workshop AND t.item = s.item AND t.lot = s.lot)
UNION ALL SELECT 'orders',
    (SELECT count(*) FROM staged_orders),
    (SELECT count(*) FROM order_line WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_orders AS s JOIN order_line AS t ON t.workshop = @workshop AND t.order_code = s."order" AND t.item = s.item)
UNION ALL SELECT 'counts',
    (SELECT count(*) FROM staged_counts),
    (SELECT count(*) FROM item_count WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_counts AS s JOIN item_count AS t ON t.workshop = @workshop AND t.item = s.item AND t.counted_on = s.date)
UNION ALL SELECT 'count_parts',
    (SELECT count(*) FROM staged_count_parts),
    (SELECT count(*) FROM count_part WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_count_parts AS s JOIN count_part AS t ON t.workshop = @workshop AND t.item = s.item AND t.counted_on = s.date AND t.number = s.number)
UNION ALL SELECT 'disposals',
    (SELECT count(*) FROM staged_disposals),
    (SELECT count(*) FROM disposal WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_disposals AS s JOIN disposal AS t ON t.workshop = @workshop AND t.happened_on = s.date AND t.number = s.number)
UNION ALL SELECT 'moves',
    (SELECT count(*) FROM staged_moves),
    (SELECT count(*) FROM moves WHERE workshop = @workshop),
    (SELECT count(*) FROM staged_moves) - (SELECT count(*) FROM new_moves)
