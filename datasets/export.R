#!/usr/bin/env Rscript
# Writes the published data sets of lme4 and metadat as plain CSV.
#
# Run:  Rscript datasets/export.R
#
# Writes lme4/dyestuff.csv, lme4/dyestuff2.csv, lme4/pastes.csv and metafor/bcg.csv, in folders
# beside this file.
# In bcg.csv, yi and vi are the log relative risk and its sampling variance from
# metafor's escalc(measure = "RR"), at 17 significant digits.
suppressPackageStartupMessages({
  library(lme4)
  library(metafor)
  library(metadat)
})

arg <- grep("^--file=", commandArgs(FALSE), value = TRUE)
here <- dirname(normalizePath(sub("^--file=", "", arg)))
put <- function(d, ...) write.csv(d, file.path(here, ...), row.names = FALSE, quote = FALSE)
digits17 <- function(x) sprintf("%.17g", x)
digits15 <- function(x) sprintf("%.15g", x)  # the data as published: few decimals

for (v in c("Dyestuff", "Dyestuff2")) {
  d <- get(v)
  put(data.frame(batch = d$Batch, yield = digits15(d$Yield)), "lme4", paste0(tolower(v), ".csv"))
}
put(data.frame(batch = Pastes$batch, cask = Pastes$cask, strength = digits15(Pastes$strength)),
    "lme4", "pastes.csv")

b <- escalc(measure = "RR", ai = tpos, bi = tneg, ci = cpos, di = cneg, data = dat.bcg)
put(data.frame(b[c("trial", "author", "year", "tpos", "tneg", "cpos", "cneg")],
               yi = digits17(b$yi), vi = digits17(b$vi)),
    "metafor", "bcg.csv")
