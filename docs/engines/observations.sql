-- Turns the readings of many books into the observations that the fit uses. For all books at once,
-- the result equals `swellbook export --observations` to the last digit.
--
-- Input: a table `readings` with the columns of `export --readings` (docs/reference/files.md) plus
-- a column `book`, which identifies the book. The exported weights are not used.
-- Output: `book`, then the columns of `export --observations`.
--
-- ANSI SQL: common table expressions and window functions. The only functions are ABS, COUNT,
-- FLOOR, MAX, MIN, ROW_NUMBER, SQRT and SUM. Three points depend on more than the standard
-- guarantees:
--   * A floating-point sum depends on the order of its terms. The windows below are ordered and
--     span the whole partition, so that an engine sees the terms in that order. The standard does
--     not require it to add them in that order.
--   * The standard calls a literal such as 0.1E0 approximate. This statement needs the nearest
--     double.
--   * FLOOR of a double is a double in some engines and an integer in others. Its result is only
--     compared.
--
-- The rules are from docs/model.md, "From readings to observations", and docs/slips.md. Each
-- formula evaluates its terms in the same order as the program.

WITH
-- One row per reading of an edge: 1 is the spine, 2 the fore-edge. A set is the readings of one
-- edge of one trial in one state.
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

-- For each reading: the count and mean of its set, and its rank by size.
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

-- For each set: the sum of squares about the mean, the median and the range. The median is the mean
-- of the two middle readings, which are the same reading if the count is odd.
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

-- Each set's estimate of the variance of one reading: the sum of squares over the median of
-- chi-square. Wilson and Hilferty (1931) approximate the median as k * (1 - 2 / (9 k))^3 with
-- k = readings - 1, which is good for any number of readings.
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
    -- One row represents each set of two or more readings.
    CASE WHEN counted > 1 AND size_number = 1 THEN 1 ELSE 0 END AS speaks
  FROM hilferty
),

-- The rank of that variance in its book, counted from 0, and the number and total degrees of
-- freedom of the other sets.
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

-- The two middle variances of the other sets; their mean is the median. Leaving a set out shifts
-- the ranks from its place upwards by one.
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

-- The usual deviation of one reading: the median above combined with the belief of 0.10 mm, which
-- has the weight of four degrees of freedom. Its lower bound `least_mm` is the gauge's resolution,
-- but at least 0.03 mm.
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

-- The distance of a reading from the median, and its limit. In a set of two nobody can say which
-- reading is wrong, so the distance between the two counts.
judged AS (
  SELECT
    told.*,
    CASE WHEN counted = 2 THEN widest ELSE ABS(mm - median_mm) END AS distance,
    CASE WHEN counted = 2 THEN SQRT(2E0) ELSE 1E0 END
      * (4.5E0 * CASE WHEN deviation > least_mm THEN deviation ELSE least_mm END) AS allowed
  FROM told
),

-- The weight of each reading. A single reading has nothing to compare it with and has weight 1.
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

-- One row per set. A single reading contains no information about repeatability.
sets AS (
  SELECT
    book, trial_number, state, state_number, edge, resolution_mm, mean_mm, worth,
    CASE WHEN counted > 1 THEN squares ELSE 0E0 END AS squares,
    CASE WHEN counted > 1 THEN worth * (counted - 1) / counted ELSE 0E0 END AS freedom
  FROM spread_out WHERE size_number = 1
),

-- The repeatability, pooled over the sets of each book and combined with the same belief.
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

-- Both edges in one row. Repeatability and resolution are the same for both, so MAX takes either.
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

-- Every reading repeats the columns of its trial, so one row per trial is enough.
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
  sections, sheets, "on", ends, first_ends, last_ends, boned, guards_mm, build_up_mm, leaves_mm,
  observed.state, spine_readings, fore_edge_readings, observed.fore_edge_mm,
  observed.spine_mm - observed.fore_edge_mm - guards_mm AS swell_mm,
  repeatability_mm * repeatability_mm * (1E0 / spine_readings + 1E0 / fore_edge_readings)
    + 2E0 * observed.resolution_mm * observed.resolution_mm / 12E0 AS variance_mm2
FROM observed
JOIN trials
  ON trials.book = observed.book AND trials.trial_number = observed.trial_number AND row_of_trial = 1
ORDER BY observed.book, swellbook_observation
