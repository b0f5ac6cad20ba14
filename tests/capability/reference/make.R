# Writes r.json beside this file: R's answers that tests/capability/test_against_r.py compares with.
# Run: Rscript make.R   (base R, nlme; versions are written into r.json)
# Values are made by formulas, so that both sides have the same to the last digit.
library(nlme)
n <- 60
u <- (seq_len(n) - 0.5) / n
wobbled <- round(qnorm(u, 10, 0.5), 3) + 0.05 * cos(3 * seq_len(n))
positive <- round(qgamma(u, 3, 50), 5) + 0.0005 * (1 + sin(seq_len(n)))
m <- mean(wobbled); s <- sd(wobbled)
out <- list(wobbled = wobbled, positive = positive)
both <- function(f) c(f(0.025), f(0.975))

# Cp: chi-square of the variance.
out$cp <- list(estimate = 4 / (6 * s), ends = rev(both(function(p) 4 / (6 * s) * sqrt(qchisq(1 - p, n - 1) / (n - 1)))))
# One limit: noncentral t of the distance of the mean from it.
k <- (m - 8) / s
noncentral <- function(p) uniroot(function(d) pt(k * sqrt(n), n - 1, ncp = d) - p, c(1, 80), tol = 1e-12)$root
out$one_limit <- list(estimate = k / 3, ends = rev(both(function(p) noncentral(p) / sqrt(n) / 3)))
# Parts per million beyond either limit, at the estimates.
out$ppm <- list(below = 1e6 * pnorm(8, m, s), above = 1e6 * pnorm(12, m, s, lower.tail = FALSE))
# Cpm about a target.
out$cpm <- 4 / (6 * sqrt(s^2 + (m - 10.1)^2))

# Counts.
b <- binom.test(sum(wobbled < 9.2 | wobbled > 11.5), n)
out$observed <- list(count = sum(wobbled < 9.2 | wobbled > 11.5), ends = 1e6 * b$conf.int[1:2])
out$none_seen <- 1 - 0.05^(1 / n)
least <- function(content, sides) { i <- sides; while (pbinom(i - sides, i, content) < 0.95) i <- i + 1; i }
contents <- c(0.9, 0.95, 0.99)
out$sizes <- list(one = sapply(contents, least, sides = 1), two = sapply(contents, least, sides = 2))

# Standard deviation within subgroups of five: mean range over d2, d2 from the distribution of the range.
groups <- matrix(wobbled[order(sin(37 * seq_len(n)))], ncol = 5, byrow = TRUE)
d2 <- integrate(function(w) 1 - ptukey(w, 5, Inf), 0, Inf, rel.tol = 1e-10)$value
out$within <- list(values = as.vector(t(groups)), pooled = sqrt(mean(apply(groups, 1, var))),
                   mean_range = mean(apply(groups, 1, function(x) diff(range(x)))) / d2)

# Quantile index above: (U - median) / (quantile of 0.99865 - median), and the interval in which the profile of the
# likelihood has fallen by no more than F/2 with 1 and n - 2 degrees of freedom, times n / (n - 2).
U <- 0.25
fall <- 0.5 * qf(0.95, 1, n - 2) * n / (n - 2)
families <- list(
  gamma = list(d = function(x, a, b) dgamma(x, a, scale = b, log = TRUE), q = function(p, a, b) qgamma(p, a, scale = b)),
  Weibull = list(d = function(x, a, b) dweibull(x, a, b, log = TRUE), q = function(p, a, b) qweibull(p, a, b)),
  lognormal = list(d = function(x, a, b) dlnorm(x, log(b), 1 / a, log = TRUE), q = function(p, a, b) qlnorm(p, log(b), 1 / a)))
index_of <- function(f) {
  index <- function(a, b) { q <- f$q(c(0.5, 0.99865), a, b); (U - q[1]) / (q[2] - q[1]) }
  loglik <- function(a, b) sum(f$d(positive, a, b))
  top <- optim(c(log(3), log(0.05)), function(p) -loglik(exp(p[1]), exp(p[2])), control = list(reltol = 1e-15, maxit = 5000))
  top <- optim(top$par, function(p) -loglik(exp(p[1]), exp(p[2])), control = list(reltol = 1e-15, maxit = 5000))
  best <- -top$value
  # The scale that gives the index at a shape, in closed form: quantiles grow with the scale.
  profile <- function(c) {
    along <- function(la) {
      q <- f$q(c(0.5, 0.99865), exp(la), 1)
      loglik(exp(la), U / (q[1] + c * (q[2] - q[1])))
    }
    optimize(along, top$par[1] + c(-1.5, 1.5), maximum = TRUE, tol = 1e-10)$objective
  }
  at <- index(exp(top$par[1]), exp(top$par[2]))
  ends <- c(uniroot(function(c) best - profile(c) - fall, c(at / 3, at), tol = 1e-10)$root,
            uniroot(function(c) best - profile(c) - fall, c(at, at * 3), tol = 1e-10)$root)
  list(estimate = at, ends = ends)
}
out$quantile <- lapply(families, index_of)

# A normal process of whose parts those beyond both limits were taken out and counted.
kept <- wobbled[abs(wobbled - 10) < 0.9]
minus <- function(p) {
  gone <- pnorm(9.1, p[1], exp(p[2])) + pnorm(10.9, p[1], exp(p[2]), lower.tail = FALSE)
  -sum(dnorm(kept, p[1], exp(p[2]), log = TRUE)) - (n - length(kept)) * log(gone)
}
cut <- optim(c(10, log(0.5)), minus, control = list(reltol = 1e-15, maxit = 5000))
cut <- optim(cut$par, minus, control = list(reltol = 1e-15, maxit = 5000))
out$sorted <- list(kept = kept, gone = n - length(kept), mean = cut$par[1], sd = exp(cut$par[2]))

# Lots: components of variance by restricted maximum likelihood.
lots <- 8; each <- 6
lot <- rep(seq_len(lots), each = each)
of_lots <- 5 + 0.06 * sin(5 * lot) + 0.03 * qnorm((((seq_along(lot) * 29) %% 48) + 0.5) / 48)
fit <- lme(v ~ 1, random = ~ 1 | lot, data = data.frame(v = of_lots, lot = factor(lot)), method = "REML",
           control = lmeControl(msTol = 1e-12, tolerance = 1e-12))
parts <- as.numeric(VarCorr(fit)[, "StdDev"])
out$lots <- list(values = of_lots, lot = lot, between = parts[1], within = parts[2], mean = unname(fixef(fit)))

# Wear: one slope, a level for each life between regrinds.
stroke <- seq(0, 2970, by = 3)
life <- findInterval(stroke, c(0, 1005, 2115))
worn <- 3 + 4e-5 * (stroke - c(0, 1005, 2115)[life]) + 0.004 * qnorm((((seq_along(stroke) * 370) %% 991) + 0.5) / 991)
line <- lm(worn ~ stroke + factor(life))
out$wear <- list(stroke = stroke, values = worn, slope = unname(coef(line)["stroke"]), residual = sigma(line))

# Position: parts per million beyond a round zone, normal coordinates with their correlation.
x <- 0.01 + 0.02 * qnorm(u); y <- -0.006 + 0.02 * qnorm(u[order(sin(11 * seq_len(n)))])
r <- 0.05; tilt <- cor(x, y) * sd(y) / sd(x); left <- sd(y) * sqrt(1 - cor(x, y)^2)
beyond <- function(v) { h <- sqrt(pmax(r^2 - v^2, 0)); my <- mean(y) + tilt * (v - mean(x))
  dnorm(v, mean(x), sd(x)) * (1 - pnorm(h, my, left) + pnorm(-h, my, left)) }
out$round <- list(x = x, y = y, ppm = 1e6 * (integrate(beyond, -r, r, rel.tol = 1e-11)$value +
  pnorm(-r, mean(x), sd(x)) + pnorm(r, mean(x), sd(x), lower.tail = FALSE)))

# Two correlated characteristics: the share that fails any of four limits.
rho <- 0.6
inside <- function(a, b) integrate(function(v) dnorm(v) * (pnorm((b - rho * v) / sqrt(1 - rho^2)) -
  pnorm((a - rho * v) / sqrt(1 - rho^2))), -2.5, 2.8, rel.tol = 1e-11)$value
out$any <- list(below = c(pnorm(-2.5), pnorm(-2.2)), above = c(pnorm(-2.8), pnorm(-3)), rho = rho, share = 1 - inside(-2.2, 3))

out$versions <- list(R = R.version.string, nlme = as.character(packageVersion("nlme")))
here <- dirname(sub("--file=", "", grep("--file=", commandArgs(), value = TRUE)))
source(file.path(here, "../../helpers/as_json.R"))
writeLines(as_json(out), file.path(here, "r.json"))
