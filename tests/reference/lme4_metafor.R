#!/usr/bin/env Rscript
# Reference values: mixed-model fits by lme4 and metafor.
#
# Run:  Rscript tests/reference/lme4_metafor.R   (writes lme4_metafor.csv beside it)
#
# columns  model, quantity, value (17 significant digits)
#
# lme4, REML. bobyqa with rhoend = 1e-10 finds the optimum of the profiled
# criterion. A minimiser that sees only the criterion's value locates it to about
# 1e-7 at best. So interior optima are polished by Newton steps on a fourth-order
# difference gradient, and the fit is rebuilt there. The three designs are
# balanced, so REML has a closed form from the analysis of variance. It is also
# computed and written as rows *_closed_form. The script stops if a spread differs
# from it by more than 1e-7 of its size.
#
#   sd_G            spread of grouping G;  sd_residual
#   fixef, fixef_se the mean and its standard error
#   reml_criterion  -2 log of the likelihood integrated over the mean (flat)
#   ranef_G_L       conditional mode of level L of grouping G
#   condsd_G_L      its conditional sd with the spreads AND the mean held fixed, as
#                   returned by ranef(condVar = TRUE)
#   predsd_G_L      its sd including the mean's uncertainty, with the spreads held
#                   fixed: from the inverse of Henderson's mixed-model equations
#   totalsd_G_L     the same for mean + effect
#   theta_G         relative spread sd_G / sd_residual
#
# metafor, rma(yi, vi): REML (Fisher scoring to threshold 1e-12) and DL.
#   tau2, se_tau2, estimate, se, loglik
#   blup_L, blup_se_L    true effect of study L, including the mean's uncertainty
#   ranef_L, ranef_se_L  its deviation from the mean, including the same uncertainty
suppressPackageStartupMessages({
  library(lme4)
  library(metafor)
})
options(warn = 1)

arg <- grep("^--file=", commandArgs(FALSE), value = TRUE)
here <- dirname(normalizePath(sub("^--file=", "", arg)))
data_at <- function(...) file.path(here, "..", "..", "datasets", ...)

out <- data.frame(model = character(), quantity = character(), value = character())
put <- function(model, quantity, value) {
  out <<- rbind(out, data.frame(model = model, quantity = quantity, value = sprintf("%.17g", value)))
}

# ---- lme4 ------------------------------------------------------------------
gradient <- function(f, x, h = 2e-3) {
  vapply(seq_along(x), function(i) {
    at <- function(k) { y <- x; y[i] <- y[i] + k * h; f(y) }
    (at(-2) - 8 * at(-1) + 8 * at(1) - at(2)) / (12 * h)
  }, 0)
}

fit_reml <- function(formula, data) {
  control <- lmerControl(check.conv.singular = "ignore")
  parts <- lFormula(formula, data, REML = TRUE, control = control)
  devfun <- do.call(mkLmerDevfun, parts)
  opt <- optimizeLmer(devfun, optimizer = "bobyqa", control = list(rhobeg = 0.2, rhoend = 1e-10, maxfun = 1e5))
  theta <- opt$par
  if (all(theta > 0.01)) {
    n <- length(theta)
    for (step in 1:20) {
      g <- gradient(devfun, theta)
      H <- matrix(vapply(seq_len(n), function(i) {
        e <- replace(numeric(n), i, 1e-3)
        (gradient(devfun, theta + e) - gradient(devfun, theta - e)) / 2e-3
      }, numeric(n)), n)
      d <- solve(H, g)
      theta <- theta - d
      if (max(abs(d)) < 1e-10) break
    }
    opt$par <- theta
  }
  opt$fval <- devfun(opt$par)
  mkMerMod(environment(devfun), opt, parts$reTrms, parts$fr)
}

report <- function(model, fit) {
  s <- sigma(fit)
  vc <- as.data.frame(VarCorr(fit))
  groups <- names(getME(fit, "cnms"))
  for (g in groups) {
    sd <- vc$sdcor[vc$grp == g]
    put(model, paste0("sd_", g), sd)
    put(model, paste0("theta_", g), sd / s)
  }
  put(model, "sd_residual", s)
  put(model, "fixef", fixef(fit)[[1]])
  put(model, "fixef_se", sqrt(as.matrix(vcov(fit))[1, 1]))
  put(model, "reml_criterion", REMLcrit(fit))

  # Henderson's equations, for the sds that include the mean's uncertainty. Effects
  # are written as sd * u, so that a spread of 0 is allowed.
  X <- getME(fit, "X")
  ZL <- as.matrix(getME(fit, "Z") %*% getME(fit, "Lambda"))
  C <- solve(rbind(cbind(crossprod(X), crossprod(X, ZL)),
                   cbind(crossprod(ZL, X), crossprod(ZL) + diag(ncol(ZL)))))
  L <- diag(as.matrix(getME(fit, "Lambda")))
  q <- seq_along(L) + 1
  pred <- s * L * sqrt(diag(C)[q])
  total <- s * sqrt(C[1, 1] + 2 * L * C[1, q] + L^2 * diag(C)[q])

  re <- ranef(fit, condVar = TRUE)
  Gp <- getME(fit, "Gp")
  for (k in seq_along(groups)) {
    g <- groups[k]
    r <- re[[g]]
    cv <- attr(r, "postVar")[1, 1, ]
    at <- (Gp[k] + 1):Gp[k + 1]
    lv <- rownames(r)
    put(model, paste0("ranef_", g, "_", lv), r[[1]])
    put(model, paste0("condsd_", g, "_", lv), sqrt(cv))
    put(model, paste0("predsd_", g, "_", lv), pred[at])
    put(model, paste0("totalsd_", g, "_", lv), total[at])
  }
}

near <- function(model, what, got, exact) {
  off <- if (exact == 0) abs(got) else abs(got / exact - 1)
  cat(sprintf("%-10s %-15s off the closed form by %.1e\n", model, what, off))
  stopifnot(off < 1e-7)
  put(model, paste0(what, "_closed_form"), exact)
}

sd_of <- function(fit, g) attr(VarCorr(fit)[[g]], "stddev")[[1]]

for (v in c("dyestuff", "dyestuff2")) {
  d <- read.csv(data_at("lme4", paste0(v, ".csv")), stringsAsFactors = TRUE)
  fit <- fit_reml(yield ~ 1 + (1 | batch), d)
  report(v, fit)
  ss <- summary(aov(yield ~ batch, d))[[1]]
  ms <- ss[["Mean Sq"]]
  if (ms[1] > ms[2]) {
    near(v, "sd_batch", sd_of(fit, "batch"), sqrt((ms[1] - ms[2]) / 5))
    near(v, "sd_residual", sigma(fit), sqrt(ms[2]))
  } else {  # the between-batch spread is at its bound, 0
    near(v, "sd_batch", sd_of(fit, "batch"), 0)
    near(v, "sd_residual", sigma(fit), sqrt(sum(ss[["Sum Sq"]]) / 29))
  }
}

d <- read.csv(data_at("lme4", "pastes.csv"), stringsAsFactors = TRUE)
fit <- fit_reml(strength ~ 1 + (1 | batch/cask), d)
report("pastes", fit)
ms <- summary(aov(strength ~ batch + batch:cask, d))[[1]][["Mean Sq"]]
near("pastes", "sd_cask:batch", sd_of(fit, "cask:batch"), sqrt((ms[2] - ms[3]) / 2))
near("pastes", "sd_batch", sd_of(fit, "batch"), sqrt((ms[1] - ms[2]) / 6))
near("pastes", "sd_residual", sigma(fit), sqrt(ms[3]))

# ---- metafor ---------------------------------------------------------------
meta <- function(model, yi, vi, labels, method) {
  fit <- rma(yi, vi, method = method, control = list(threshold = 1e-12, maxiter = 10000))
  put(model, "tau2", fit$tau2)
  put(model, "se_tau2", fit$se.tau2)
  put(model, "estimate", fit$beta[[1]])
  put(model, "se", fit$se)
  put(model, "loglik", as.numeric(logLik(fit)))
  b <- blup(fit)
  r <- ranef(fit)
  put(model, paste0("blup_", labels), b$pred)
  put(model, paste0("blup_se_", labels), b$se)
  put(model, paste0("ranef_", labels), r$pred)
  put(model, paste0("ranef_se_", labels), r$se)
  invisible(fit)
}

b <- read.csv(data_at("metafor", "bcg.csv"))
for (m in c("REML", "DL")) {
  fit <- meta(paste0("bcg_", tolower(m)), b$yi, b$vi, b$trial, m)
  if (m == "REML") {
    # tau2 found independently, as the root of the REML score
    score <- function(t2) {
      w <- 1 / (b$vi + t2)
      P <- diag(w) - tcrossprod(w) / sum(w)
      sum(diag(P)) - sum((P %*% b$yi)^2)
    }
    t2 <- uniroot(score, c(0.1, 1), tol = 1e-15)$root
    cat(sprintf("bcg        tau2            off the root of the REML score by %.1e\n", abs(fit$tau2 / t2 - 1)))
    stopifnot(abs(fit$tau2 / t2 - 1) < 1e-9)
  }
}
e <- read.csv(data_at("eight_schools", "eight_schools.csv"))
for (m in c("REML", "DL")) meta(paste0("eight_schools_", tolower(m)), e$effect, e$se^2, e$school, m)

write.csv(out, file.path(here, "lme4_metafor.csv"), row.names = FALSE, quote = FALSE)
