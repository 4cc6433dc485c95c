-- What a schema is made of, a line an object, from the catalogue: nothing is printed by the server's own
-- writers of SQL, whose layout changes from version to version.
WITH relation AS (
  SELECT c.* FROM pg_catalog.pg_class c
  JOIN pg_catalog.pg_namespace n ON n.oid = c.relnamespace WHERE n.nspname = $1::text
)
SELECT 'relation ' || relname || ' ' || relkind::text || relpersistence::text
  || CASE WHEN relrowsecurity THEN ' row security' ELSE '' END AS line
FROM relation
UNION ALL
SELECT 'column ' || c.relname || '.' || a.attname || ' ' || pg_catalog.format_type(a.atttypid, a.atttypmod)
  || CASE WHEN a.attnotnull THEN ' not null' ELSE '' END
  || CASE WHEN a.atthasdef THEN ' default' ELSE '' END || coalesce(' ' || l.collname, '')
FROM relation c
JOIN pg_catalog.pg_attribute a ON a.attrelid = c.oid AND a.attnum > 0 AND NOT a.attisdropped
LEFT JOIN pg_catalog.pg_collation l ON l.oid = a.attcollation
WHERE c.relkind <> 'i'
UNION ALL
SELECT 'constraint ' || c.relname || '.' || k.conname || ' ' || k.contype::text || ' ' || k.conkey::text
  || coalesce(' ' || pg_catalog.pg_get_expr(k.conbin, k.conrelid), '')
FROM relation c JOIN pg_catalog.pg_constraint k ON k.conrelid = c.oid WHERE k.contype <> 'n'
UNION ALL
SELECT 'trigger ' || c.relname || '.' || t.tgname || ' ' || t.tgtype::text || ' ' || t.tgenabled::text || ' ' || p.proname
  || CASE WHEN t.tgqual IS NULL THEN '' ELSE ' when' END
FROM relation c
JOIN pg_catalog.pg_trigger t ON t.tgrelid = c.oid AND NOT t.tgisinternal
JOIN pg_catalog.pg_proc p ON p.oid = t.tgfoid
UNION ALL
SELECT 'rule ' || c.relname || '.' || r.rulename
FROM relation c JOIN pg_catalog.pg_rewrite r ON r.ev_class = c.oid
UNION ALL
SELECT 'function ' || p.proname || ' '
  || pg_catalog.encode(pg_catalog.sha256(pg_catalog.convert_to(p.prosrc, 'UTF8')), 'hex')
FROM pg_catalog.pg_proc p JOIN pg_catalog.pg_namespace n ON n.oid = p.pronamespace WHERE n.nspname = $1::text
