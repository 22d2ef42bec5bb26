#!/usr/bin/env Rscript
# Reference values: straight-line predictions by R's lm and predict.lm.
#
# Run:  Rscript tests/reference/predict_lm.R   (writes predict_lm.csv beside it)
#
# columns  model, quantity, value (17 significant digits)
#
# cars     stopping distance (ft) on speed (mph): the data set of M. Ezekiel (1930),
#          Methods of Correlation Analysis, that R ships as `cars`. x_i and y_i are the
#          data. At speed X = 10, 21 and 40: fit_X; lwr_X and upr_X, the limits of the 95 %
#          prediction interval; and logdens_X_Y, the log density of a new observation Y
#          under the t distribution that predict.lm uses.
# one_line, line_per_paper
#          predict_lm_sheet.csv with one trial left out at a time. Swell on thread build-up
#          in each state, predicted by predict.lm from at least three other trials (for
#          line_per_paper, of the same paper). predictions, mean_miss_mm,
#          mean_miss_percent, held_90 (how many 90 % intervals contained the measured
#          swell), log_density (mean log density of the measured swell).
arg <- grep("^--file=", commandArgs(FALSE), value = TRUE)
here <- dirname(normalizePath(sub("^--file=", "", arg)))
out <- data.frame(model = character(), quantity = character(), value = character())
put <- function(model, quantity, value) {
  out[nrow(out) + 1, ] <<- c(model, quantity, format(value, digits = 17))
}
log_density <- function(fit, new, y) {
  at <- predict(fit, new, se.fit = TRUE)
  scale <- sqrt(at$se.fit^2 + at$residual.scale^2)
  dt((y - at$fit) / scale, at$df, log = TRUE) - log(scale)
}

for (i in seq_len(nrow(cars))) {
  put("cars", paste0("x_", i), cars$speed[i])
  put("cars", paste0("y_", i), cars$dist[i])
}
line <- lm(dist ~ speed, cars)
for (speed in c(10, 21, 40)) {
  at <- predict(line, data.frame(speed = speed), interval = "prediction")
  put("cars", paste0("fit_", speed), at[1, "fit"])
  put("cars", paste0("lwr_", speed), at[1, "lwr"])
  put("cars", paste0("upr_", speed), at[1, "upr"])
  for (y in c(30, 200)) {
    put("cars", paste("logdens", speed, y, sep = "_"), log_density(line, data.frame(speed), y))
  }
}

sheet <- read.csv(file.path(here, "predict_lm_sheet.csv"))
# Thread diameter in mm: as measured, else from the linen lea count at 1.50 g/cm3 and a
# packing of 0.78.
lea <- function(count) {
  parts <- as.numeric(strsplit(sub("lea ", "", count), "/")[[1]])
  tex <- parts[2] * 453.59237 / (300 * 0.9144 * parts[1]) * 1000
  2 * sqrt(tex * 1e-6 / (pi * 1.50e-3 * 0.78))
}
sheet$d <- ifelse(is.na(sheet$laid_mm), sapply(sheet$count, lea), sheet$laid_mm)
sheet$effective <- with(sheet, ifelse(on == 1, sections, 2 * ends + (sections - 2 * ends) / on))
sheet$x <- sheet$d * sheet$effective
means <- aggregate(cbind(spine_mm, fore_edge_mm, x) ~ trial + paper + state, sheet, mean)
means <- means[means$state != "unsewn", ]
means$y <- means$spine_mm - means$fore_edge_mm

leave_out <- function(model, same_paper) {
  rows <- NULL
  for (i in seq_len(nrow(means))) {
    one <- means[i, ]
    others <- means[means$trial != one$trial & means$state == one$state, ]
    if (same_paper) others <- others[others$paper == one$paper, ]
    if (nrow(others) < 3 || length(unique(others$x)) < 2) next
    fit <- lm(y ~ x, others)
    at <- predict(fit, one, interval = "prediction", level = 0.9)
    rows <- rbind(rows, data.frame(
      miss = abs(one$y - at[1, "fit"]),
      percent = 100 * abs(one$y - at[1, "fit"]) / one$fore_edge_mm,
      held = one$y >= at[1, "lwr"] && one$y <= at[1, "upr"],
      density = log_density(fit, one, one$y)
    ))
  }
  put(model, "predictions", nrow(rows))
  put(model, "mean_miss_mm", mean(rows$miss))
  put(model, "mean_miss_percent", mean(rows$percent))
  put(model, "held_90", sum(rows$held))
  put(model, "log_density", mean(rows$density))
}
leave_out("one_line", FALSE)
leave_out("line_per_paper", TRUE)

write.csv(out, file.path(here, "predict_lm.csv"), row.names = FALSE, quote = FALSE)
