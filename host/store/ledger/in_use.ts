/** The build that the engine is at a place, a subquery: of the uses that stand, the last one that began at or before it. Arguments are SQL terms. */
export const buildInUseSql = (boot_id: string, tick: string): string => `(
    SELECT u.build_id FROM build_use u WHERE u.retired_utc_us IS NULL
      AND (coalesce(u.boot_from, 0) < ${boot_id} OR coalesce(u.boot_from, 0) = ${boot_id} AND u.tick_from <= ${tick})
    ORDER BY coalesce(u.boot_from, 0) DESC, u.tick_from DESC, u.use_id DESC LIMIT 1)`;

/** The build that the engine is from now on; NULL: none was ever put in use. */
export const currentBuildSql = buildInUseSql('9007199254740991', '0');
