#!/usr/bin/env Rscript
# The peer for the fit's timing: one lmer of the width over a trial sheet.
#
#   Rscript benches/peer_lme4.R SHEET.csv          fit the sheet, print the result
#   Rscript benches/peer_lme4.R --make SHEET.csv   write a made sheet: 40 trials, 400 readings
#
# The sheet has one row per place measured, with the columns
#   trial,date,paper,hardness,grammage_gsm,caliper_mm,thread,laid_mm,sections,
#   sheets,on,ends,boned,state,spine_mm,fore_edge_mm
# and state one of unsewn, sewn, pressed, knocked, knocked+pressed.
#
# The readings of one trial in one state are averaged: W is the mean spine less
# the mean fore-edge. D is the thread laid in the folds, laid_mm times the number
# of threads one above another: every section's own when sewn all along (on = 1),
# else the sections at the ends and one for each `on` of the rest. Unsewn there
# is no thread yet, and D is 0.
#
#   W ~ 0 + sections + D + D:knocked + (0 + D | paper) + (0 + D | trial)
suppressPackageStartupMessages(library(lme4))

make_sheet <- function(path) {
  set.seed(20240517, kind = "Mersenne-Twister", normal.kind = "Inversion", sample.kind = "Rejection")
  states <- c("unsewn", "sewn", "pressed", "knocked", "knocked+pressed")
  papers <- data.frame(
    paper = paste0("paper", 1:8), hardness = rep(c("soft", "medium", "hard", "medium"), 2),
    grammage_gsm = c(80, 90, 100, 120, 85, 105, 115, 95),
    caliper_mm = c(0.13, 0.12, 0.115, 0.14, 0.14, 0.13, 0.125, 0.12), swell = rnorm(8, 0, 0.06))
  threads <- data.frame(thread = c("18/3", "25/3", "30/3", "40/3"), laid_mm = c(0.46, 0.39, 0.35, 0.31))
  rows <- vector("list", 40)
  for (i in 1:40) {
    p <- papers[(i - 1) %% 8 + 1, ]
    t <- threads[(i - 1) %/% 8 %% 4 + 1, ]
    sections <- sample(8:24, 1)
    on <- if (i %% 5 == 0) 2 else 1
    if (on > 1) sections <- sections + sections %% 2
    ends <- if (on > 1) 2 else 0
    through <- if (on == 1) sections else 2 * ends + (sections - 2 * ends) / on
    trial_swell <- rnorm(1, 0, 0.05)
    sheet <- expand.grid(place = 1:2, state = states, stringsAsFactors = FALSE)
    knocked <- sheet$state %in% c("knocked", "knocked+pressed")
    D <- ifelse(sheet$state == "unsewn", 0, t$laid_mm * through)
    state_noise <- rnorm(5, 0, 0.1)[match(sheet$state, states)]
    width <- 0.05 * sections + D * (0.75 - 0.2 * knocked + p$swell + trial_swell) + state_noise
    fore <- sections * 8 * p$caliper_mm + rnorm(10, 0, 0.05)
    rows[[i]] <- data.frame(
      trial = sprintf("t%02d", i), date = format(as.Date("2024-01-01") + 3 * i), p[1:4], t,
      sections = sections, sheets = 4, on = on, ends = ends, boned = if (i %% 2) "yes" else "no",
      state = sheet$state, spine_mm = round(fore + width + rnorm(10, 0, 0.05), 2),
      fore_edge_mm = round(fore, 2), row.names = NULL)
  }
  write.csv(do.call(rbind, rows), path, row.names = FALSE, quote = FALSE)
}

fit_sheet <- function(path) {
  s <- read.csv(path, stringsAsFactors = FALSE)
  key <- paste(s$trial, s$state, sep = "\r")
  first <- !duplicated(key)
  d <- s[first, c("trial", "paper", "laid_mm", "sections", "on", "ends", "state")]
  d$W <- as.vector(tapply(s$spine_mm, key, mean, na.rm = TRUE)[key[first]] -
                     tapply(s$fore_edge_mm, key, mean, na.rm = TRUE)[key[first]])
  effective <- ifelse(d$on == 1, d$sections, 2 * d$ends + (d$sections - 2 * d$ends) / d$on)
  d$D <- ifelse(d$state == "unsewn", 0, d$laid_mm * effective)
  d$knocked <- as.numeric(d$state %in% c("knocked", "knocked+pressed"))
  d <- d[is.finite(d$W) & is.finite(d$D), ]
  fit <- lmer(W ~ 0 + sections + D + D:knocked + (0 + D | paper) + (0 + D | trial), data = d)
  list(fit = fit, readings = nrow(s), used = nrow(d))
}

args <- commandArgs(TRUE)
if (length(args) == 2 && args[1] == "--make") {
  make_sheet(args[2])
} else if (length(args) == 1) {
  took <- system.time(f <- fit_sheet(args[1]))[["elapsed"]]
  cat(sprintf("readings %d, trials in a state %d\n\n", f$readings, f$used))
  print(coef(summary(f$fit))[, 1:2])
  cat("\n")
  print(VarCorr(f$fit), digits = 6)
  cat(sprintf("\nload and fit %.3f s\n", took))
} else {
  stop("usage: peer_lme4.R SHEET.csv | --make SHEET.csv")
}
