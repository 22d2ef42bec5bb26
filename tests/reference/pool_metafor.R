#!/usr/bin/env Rscript
# Reference values: multivariate random-effects meta-analyses by metafor.
#
# Run:  Rscript tests/reference/pool_metafor.R   (writes pool_metafor.csv beside it)
#
# columns  set, what, bench, i, j, value (17 significant digits)
#
# The estimates are invented (fixed seed): three coefficients at twenty benches, with full
# covariances. In the set `whole` every bench has all three. In `partial` a third of the benches
# lack the second and a third lack the last.
#
#   y  estimate of coefficient i at a bench        v  covariance of the estimates of i and j
#   mean, cov     the pooled means and their covariance
#   between       the covariance between benches (struct = "UN")
#   loglik        restricted log likelihood
#
# rma.mv fits by REML, using nlminb with a tolerance of 1e-10. A minimiser that sees only values
# locates the optimum to about 1e-7 at best. So Newton steps follow, on differences of the
# restricted log likelihood over the Cholesky factor of the covariance, until they are below 1e-9.
# The script stops if metafor's own optimum differs from the result by more than 1e-5.
suppressPackageStartupMessages(library(metafor))
options(warn = 1)
arg <- grep("^--file=", commandArgs(FALSE), value = TRUE)
here <- dirname(normalizePath(sub("^--file=", "", arg)))

out <- data.frame()
put <- function(set, what, bench, i, j, value) {
  out <<- rbind(out, data.frame(set = set, what = what, bench = bench, i = i, j = j,
                                value = sprintf("%.17g", value)))
}

set.seed(20)
k <- 20; p <- 3
mu <- c(0.55, -0.12, 0.03)
root <- matrix(c(0.06, 0, 0, -0.02, 0.04, 0, 0.01, 0.015, 0.05), p, byrow = TRUE)
data <- lapply(1:k, function(b) {
  a <- matrix(rnorm(p * p), p) * 0.02
  v <- a %*% t(a) + diag(runif(p, 0.0004, 0.003))
  y <- mu + root %*% rnorm(p) + t(chol(v)) %*% rnorm(p)
  # Rounded to twelve digits, so that the values written are exactly those fitted.
  list(y = as.numeric(signif(y, 12)), v = matrix(signif(v, 12), p))
})

fitted <- function(set, has) {
  rows <- do.call(rbind, lapply(1:k, function(b) data.frame(bench = b, coef = has[[b]], y = data[[b]]$y[has[[b]]])))
  V <- bldiag(lapply(1:k, function(b) data[[b]]$v[has[[b]], has[[b]], drop = FALSE]))
  rows$coef <- factor(rows$coef)
  own <- rma.mv(y, V, mods = ~ 0 + coef, random = ~ coef | bench, struct = "UN", data = rows, method = "REML",
                control = list(optimizer = "nlminb", rel.tol = 1e-10, eval.max = 1e4, iter.max = 1e4))
  # metafor also computes the restricted likelihood at a given covariance.
  at <- function(G) rma.mv(y, V, mods = ~ 0 + coef, random = ~ coef | bench, struct = "UN", data = rows, method = "REML",
                           tau2 = diag(G), rho = (cov2cor(G))[lower.tri(G)])
  low <- lower.tri(diag(p), diag = TRUE)
  cov_of <- function(x) { L <- matrix(0, p, p); L[low] <- x; L %*% t(L) }
  value <- function(x) as.numeric(logLik(at(cov_of(x))))
  x <- t(chol(own$G))[low]
  n <- length(x)
  for (step in 1:8) {
    h <- 2e-3 * max(abs(x))
    e <- function(i) { z <- numeric(n); z[i] <- h; z }
    slope <- sapply(1:n, function(i) (value(x - 2 * e(i)) - 8 * value(x - e(i)) + 8 * value(x + e(i)) - value(x + 2 * e(i))) / (12 * h))
    hess <- matrix(0, n, n); here_value <- value(x)
    for (i in 1:n) for (j in 1:i) {
      hess[i, j] <- hess[j, i] <- (value(x + e(i) + e(j)) - value(x + e(i) - e(j)) - value(x - e(i) + e(j)) + value(x - e(i) - e(j))) / (4 * h * h)
    }
    move <- solve(hess, slope)
    x <- x - move
    if (max(abs(move)) < 1e-9) break
  }
  best <- at(cov_of(x))
  stopifnot(max(abs(cov_of(x) - own$G)) < 1e-5, max(abs(move)) < 1e-8)
  G <- cov_of(x)
  for (b in 1:k) for (i in has[[b]]) {
    put(set, "y", b, i, 0, data[[b]]$y[i])
    for (j in has[[b]]) put(set, "v", b, i, j, data[[b]]$v[i, j])
  }
  for (i in 1:p) {
    put(set, "mean", 0, i, 0, as.numeric(best$beta)[i])
    for (j in 1:p) {
      put(set, "cov", 0, i, j, best$vb[i, j])
      put(set, "between", 0, i, j, G[i, j])
    }
  }
  put(set, "loglik", 0, 0, 0, as.numeric(logLik(best)))
}

fitted("whole", lapply(1:k, function(b) 1:3))
fitted("partial", lapply(1:k, function(b) if (b %% 3 == 0) c(1, 3) else if (b %% 3 == 1) c(1, 2) else 1:3))
write.csv(out, file.path(here, "pool_metafor.csv"), row.names = FALSE, quote = FALSE)
