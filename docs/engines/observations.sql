-- Readings of many books to the observations that a fit is given: what `swellbook export --observations`
-- writes, for every book at once and to the last digit.
--
-- Input: a table `readings` with the columns of `export --readings` (docs/reference/files.md) and one
-- more, `book`, which tells the books apart. The weights that the export has are not used.
-- Output: the columns of `export --observations` after `book`.
--
-- ANSI SQL: common table expressions, window functions, no function but ABS, COUNT, FLOOR, MAX, MIN,
-- ROW_NUMBER, SQRT and SUM. Three things rest on more than the standard says:
--   * A sum of floating-point numbers depends on the order of its terms. The windows below are ordered
--     and hold their whole partition, so that an engine meets the terms in that order. The standard does
--     not say that it must add them so.
--   * A literal such as 0.1E0 is approximate in the standard, and taken for the nearest double.
--   * FLOOR of a double is a double or a whole number, as the engine likes; it is only compared.
--
-- The rules are those of docs/model.md, "From readings to observations", and docs/slips.md. A formula
-- is written in the order in which the program works it out.

WITH
-- Each reading of one edge, 1 the spine and 2 the fore-edge. A set is the readings of one edge of one
-- trial in one state.
measured AS (
  SELECT
    book, trial_number, state, edge, resolution_mm, swellbook_reading AS taken_number,
    CASE state
      WHEN 'unsewn' THEN 1 WHEN 'sewn' THEN 2 WHEN 'pressed' THEN 3 WHEN 'knocked' THEN 4 ELSE 5
    END AS state_number,
    CASE edge WHEN 1 THEN spine_mm ELSE fore_edge_mm END AS mm
  FROM readings CROSS JOIN (VALUES (1), (2)) AS edges (edge)
  WHERE CASE edge WHEN 1 THEN spine_mm ELSE fore_edge_mm END IS NOT NULL
),

-- Its set: how many, their sum, and its place among them by size.
in_sets AS (
  SELECT
    measured.*,
    COUNT(*) OVER in_set AS counted,
    SUM(mm) OVER in_set / COUNT(*) OVER in_set AS plain_mean,
    ROW_NUMBER() OVER by_size AS size_number
  FROM measured
  WINDOW
    in_set AS (
      PARTITION BY book, trial_number, state_number, edge ORDER BY taken_number
      ROWS BETWEEN UNBOUNDED PRECEDING AND UNBOUNDED FOLLOWING
    ),
    by_size AS (PARTITION BY book, trial_number, state_number, edge ORDER BY mm, taken_number)
),

-- Squares about the mean, and the median: the mean of the two in the middle, which are one and the
-- same of an odd number.
described AS (
  SELECT
    in_sets.*,
    SUM((mm - plain_mean) * (mm - plain_mean)) OVER in_set AS plain_squares,
    0.5E0 * (
      MAX(CASE WHEN size_number - 1 = FLOOR((counted - 1) / 2E0) THEN mm END) OVER in_set
      + MAX(CASE WHEN size_number - 1 = FLOOR(counted / 2E0) THEN mm END) OVER in_set
    ) AS median_mm,
    MAX(mm) OVER in_set - MIN(mm) OVER in_set AS widest
  FROM in_sets
  WINDOW in_set AS (
    PARTITION BY book, trial_number, state_number, edge ORDER BY taken_number
    ROWS BETWEEN UNBOUNDED PRECEDING AND UNBOUNDED FOLLOWING
  )
),

-- The variance of one reading by its set: over the median of chi-square by Wilson and Hilferty (1931),
-- k * (1 - 2 / (9 k))^3 with k = readings - 1, good for any number of readings.
hilferty AS (
  SELECT
    described.*,
    CASE WHEN counted > 1 THEN 1E0 - 2E0 / (9E0 * (counted - 1)) END AS root
  FROM described
),
sized AS (
  SELECT
    hilferty.*,
    CASE WHEN counted > 1 THEN plain_squares / ((counted - 1) * (root * (root * root))) END AS variance,
    -- One row of each set of two or more speaks for it.
    CASE WHEN counted > 1 AND size_number = 1 THEN 1 ELSE 0 END AS speaks
  FROM hilferty
),

-- The place of that variance among those of the book, and what the other sets are together.
placed AS (
  SELECT
    sized.*,
    ROW_NUMBER() OVER (
      PARTITION BY book ORDER BY speaks DESC, variance, trial_number, state_number, edge, size_number
    ) - 1 AS place,
    SUM(speaks) OVER in_book - 1 AS others,
    SUM(speaks * (counted - 1)) OVER in_book - (counted - 1) AS freedom
  FROM sized
  WINDOW in_book AS (PARTITION BY book)
),

-- The median of the variances of the other sets. With one left out, the k-th of the others is the k-th
-- of all below its place and the next one from there on.
beside AS (
  SELECT
    placed.*,
    CASE WHEN FLOOR((others - 1) / 2E0) < place
      THEN MAX(CASE WHEN speaks = 1 AND place = FLOOR((others - 1) / 2E0) THEN variance END) OVER in_book
      ELSE MAX(CASE WHEN speaks = 1 AND place = FLOOR((others - 1) / 2E0) + 1 THEN variance END) OVER in_book
    END AS low,
    CASE WHEN FLOOR(others / 2E0) < place
      THEN MAX(CASE WHEN speaks = 1 AND place = FLOOR(others / 2E0) THEN variance END) OVER in_book
      ELSE MAX(CASE WHEN speaks = 1 AND place = FLOOR(others / 2E0) + 1 THEN variance END) OVER in_book
    END AS high
  FROM placed
  WINDOW in_book AS (PARTITION BY book)
),

-- The usual deviation of one reading: with the belief of 0.10 mm, which weighs four degrees of freedom.
-- No two places agree closer than the gauge's step or 0.03 mm.
usual AS (
  SELECT
    beside.*,
    CASE WHEN speaks = 1 THEN SQRT(
      (4E0 * 0.1E0 * 0.1E0 + freedom * CASE WHEN others = 0 THEN 0E0 ELSE 0.5E0 * (low + high) END)
      / (4E0 + freedom)
    ) END AS own_deviation,
    CASE WHEN resolution_mm > 0.03E0 THEN resolution_mm ELSE 0.03E0 END AS least_mm
  FROM beside
),
told AS (
  SELECT
    usual.*,
    MAX(own_deviation) OVER (PARTITION BY book, trial_number, state_number, edge) AS deviation
  FROM usual
),

-- How far a reading is from the middle, and how far it may be. Of two readings nobody can say which is
-- wrong: then it is their distance from each other that counts.
judged AS (
  SELECT
    told.*,
    CASE WHEN counted = 2 THEN widest ELSE ABS(mm - median_mm) END AS distance,
    CASE WHEN counted = 2 THEN SQRT(2E0) ELSE 1E0 END
      * (4.5E0 * CASE WHEN deviation > least_mm THEN deviation ELSE least_mm END) AS allowed
  FROM told
),

-- The weight of each reading. A single reading of an edge has nothing to be judged by.
weighed AS (
  SELECT
    judged.*,
    CASE WHEN counted > 1 AND distance > allowed
      THEN ((allowed / distance) * (allowed / distance)) * ((allowed / distance) * (allowed / distance))
      ELSE 1E0
    END AS weight
  FROM judged
),

totals AS (
  SELECT
    weighed.*,
    SUM(weight) OVER in_set AS worth,
    CASE WHEN counted = 2 THEN plain_mean ELSE SUM(weight * mm) OVER in_set / SUM(weight) OVER in_set END
      AS mean_mm
  FROM weighed
  WINDOW in_set AS (
    PARTITION BY book, trial_number, state_number, edge ORDER BY taken_number
    ROWS BETWEEN UNBOUNDED PRECEDING AND UNBOUNDED FOLLOWING
  )
),

spread_out AS (
  SELECT
    totals.*,
    SUM((weight * (mm - mean_mm)) * (weight * (mm - mean_mm))) OVER (
      PARTITION BY book, trial_number, state_number, edge ORDER BY taken_number
      ROWS BETWEEN UNBOUNDED PRECEDING AND UNBOUNDED FOLLOWING
    ) AS squares
  FROM totals
),

-- Each set in one row; a single reading says nothing of how readings repeat.
sets AS (
  SELECT
    book, trial_number, state, state_number, edge, resolution_mm, mean_mm, worth,
    CASE WHEN counted > 1 THEN squares ELSE 0E0 END AS squares,
    CASE WHEN counted > 1 THEN worth * (counted - 1) / counted ELSE 0E0 END AS freedom
  FROM spread_out WHERE size_number = 1
),

-- The repeatability, pooled over the sets of each book with the same belief.
repeated AS (
  SELECT
    sets.*,
    SQRT(
      (4E0 * 0.1E0 * 0.1E0 + SUM(squares) OVER in_book) / (4E0 + SUM(freedom) OVER in_book)
    ) AS repeatability_mm
  FROM sets
  WINDOW in_book AS (
    PARTITION BY book ORDER BY trial_number, state_number, edge
    ROWS BETWEEN UNBOUNDED PRECEDING AND UNBOUNDED FOLLOWING
  )
),

-- Both edges side by side. What is the same for both is taken once.
observed AS (
  SELECT
    book, trial_number, state, state_number,
    MAX(CASE WHEN edge = 1 THEN mean_mm END) AS spine_mm,
    MAX(CASE WHEN edge = 2 THEN mean_mm END) AS fore_edge_mm,
    MAX(CASE WHEN edge = 1 THEN worth END) AS spine_readings,
    MAX(CASE WHEN edge = 2 THEN worth END) AS fore_edge_readings,
    MAX(repeatability_mm) AS repeatability_mm,
    MAX(resolution_mm) AS resolution_mm
  FROM repeated
  GROUP BY book, trial_number, state, state_number
  HAVING COUNT(*) = 2
),

-- What is known of a trial is in every row of its readings; one of them is enough.
trials AS (
  SELECT
    readings.*,
    ROW_NUMBER() OVER (PARTITION BY book, trial_number ORDER BY swellbook_reading) AS row_of_trial
  FROM readings
)

SELECT
  observed.book,
  ROW_NUMBER() OVER (PARTITION BY observed.book ORDER BY observed.trial_number, state_number)
    AS swellbook_observation,
  trial, "date", kind, hand, paper, hardness, grammage_gsm, caliper_mm, thread, material, laid_mm,
  sections, sheets, "on", ends, boned, guards_mm, build_up_mm, leaves_mm,
  observed.state, spine_readings, fore_edge_readings, observed.fore_edge_mm,
  observed.spine_mm - observed.fore_edge_mm - guards_mm AS swell_mm,
  repeatability_mm * repeatability_mm * (1E0 / spine_readings + 1E0 / fore_edge_readings)
    + 2E0 * observed.resolution_mm * observed.resolution_mm / 12E0 AS variance_mm2
FROM observed
JOIN trials
  ON trials.book = observed.book AND trials.trial_number = observed.trial_number AND row_of_trial = 1
ORDER BY observed.book, swellbook_observation
