# Gauge studies of datasets/gauge by restricted maximum likelihood (R 4.2.2, lme4 1.1-31).
# REML and the ANOVA method agree if the design is balanced and all components are non-negative.
# Run in this folder:  Rscript gauge_lme4.R > gauge_lme4.csv
suppressMessages(library(lme4))
control <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-12, maxfun = 1e5))
cat("set,component,value\n")
for (set in c("thermal")) {
  d <- read.csv(file.path("..", "..", "datasets", "gauge", paste0(set, ".csv")))
  d$operator <- factor(d$operator)
  d$part <- factor(d$part)
  fit <- lmer(reading_mm ~ 1 + (1 | part) + (1 | operator) + (1 | operator:part), d, control = control)
  v <- as.data.frame(VarCorr(fit))
  name <- c("operator:part" = "operator_by_part", part = "part", operator = "operator", Residual = "repeatability")
  for (i in seq_len(nrow(v))) cat(sprintf("%s,%s,%.12g\n", set, name[[v$grp[i]]], v$vcov[i]))
}
