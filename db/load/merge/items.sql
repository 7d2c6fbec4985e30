MERGE INTO item AS t USING staged_items AS s
ON t.workshop = @workshop AND t.item = s.item
WHEN MATCHED AND (t.name, t.kind, t.measure, t.material, t.shelf_months, t.critical, t.inside_mm, t.section_mm,
    t.hardness, t.density_kg_m3, t.viscosity_40c, t.flash_point_c, t.bin, t.gtin, t.opened_months)
        IS DISTINCT FROM (s.name, s.kind, s.unit, s.material, s.shelf_months, s.critical, s.inside_mm, s.section_mm,
            s.hardness, s.density_kg_m3, s.viscosity_40c, s.flash_point_c, s.bin, s.gtin,
            s.opened_months) THEN UPDATE SET
    name = s.name, kind = s.kind, measure = s.unit, material = s.material, shelf_months = s.shelf_months,
        critical = s.critical, inside_mm = s.inside_mm, section_mm = s.section_mm, hardness = s.hardness,
        density_kg_m3 = s.density_kg_m3, viscosity_40c = s.viscosity_40c, flash_point_c = s.flash_point_c,
        bin = s.bin, gtin = s.gtin, opened_months = s.opened_months
WHEN NOT MATCHED THEN INSERT (workshop, item, name, kind, measure, material, shelf_months, critical, inside_mm,
    section_mm, hardness, density_kg_m3, viscosity_40c, flash_point_c, bin, gtin, opened_months)
    VALUES (@workshop, s.item, s.name, s.kind, s.unit, s.material, s.shelf_months, s.critical, s.inside_mm,
        s.section_mm, s.hardness, s.density_kg_m3, s.viscosity_40c, s.flash_point_c, s.bin, s.gtin, s.opened_months)
