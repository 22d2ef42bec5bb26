#!/usr/bin/env Rscript
# A peer of the fit: one model of lme4 by REML over a trial sheet, and its spreads.
#
#   Rscript benches/peers/lme4.R SHEET.csv
#
# The readings of one trial in one state are averaged: W is the mean spine less the mean fore-edge.
# D is the thread laid in the folds, laid_mm times the sections, which are all sewn all along.
#
#   W ~ 0 + sections + D + D:knocked + (0 + D | paper) + (0 + D | trial)
suppressPackageStartupMessages(library(lme4))

s <- read.csv(commandArgs(TRUE)[1], stringsAsFactors = FALSE)
key <- paste(s$trial, s$state, sep = "\r")
first <- !duplicated(key)
d <- s[first, c("trial", "paper", "laid_mm", "sections", "state")]
d$W <- as.vector(tapply(s$spine_mm, key, mean)[key[first]] -
                   tapply(s$fore_edge_mm, key, mean)[key[first]])
d$D <- d$laid_mm * d$sections
d$knocked <- as.numeric(d$state == "knocked")
fit <- lmer(W ~ 0 + sections + D + D:knocked + (0 + D | paper) + (0 + D | trial), data = d)
sds <- as.data.frame(VarCorr(fit))
cat(sprintf("%s %.6f\n", sds$grp, sds$sdcor), sep = "")
