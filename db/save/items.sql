SELECT item, name, kind, measure, material, shelf_months, critical, inside_mm, section_mm, hardness, density_kg_m3,
    viscosity_40c, flash_point_c, bin, gtin, opened_months
FROM item WHERE workshop = @workshop
ORDER BY item
