# Writes r.json beside this file: R's answers that tests/shape/test_against_r.py compares with.
# Run: Rscript make.R   (packages fitdistrplus, nortest, MASS; versions are written into r.json)
# Values are made by formulas, so that both sides have the same to the last digit.
suppressMessages({library(fitdistrplus); library(nortest); library(MASS)})
n <- 60
u <- (seq_len(n) - 0.5) / n
skewed <- 2 + round(qgamma(u, 3, 5), 4) + 0.01 * sin(seq_len(n))
positive <- skewed - 2 + 0.05
wobbled <- round(qnorm(u, 10, 0.5), 3) + 0.05 * cos(3 * seq_len(n))
out <- list(skewed = skewed, positive = positive, wobbled = wobbled)
fit <- function(x, name, ...) {
  f <- suppressWarnings(fitdist(x, name, ..., optim.method = "Nelder-Mead",
                                control = list(maxit = 20000, reltol = 1e-14)))
  g <- gofstat(f)
  list(estimate = as.list(f$estimate), loglik = f$loglik, ad = unname(g$ad), aic = f$aic)
}
dgumbel <- function(x, a, b) exp(-(x - a) / b - exp(-(x - a) / b)) / b
pgumbel <- function(q, a, b) exp(-exp(-(q - a) / b))
dfolded <- function(x, m, s) dnorm(x, m, s) + dnorm(x, -m, s)
pfolded <- function(q, m, s) pnorm(q, m, s) - pnorm(-q, m, s)
drayleigh <- function(x, s) x / s^2 * exp(-x^2 / (2 * s^2))
prayleigh <- function(q, s) 1 - exp(-q^2 / (2 * s^2))
dsu <- function(x, g, d, xi, l) { r <- (x - xi) / l; d / (l * sqrt(r^2 + 1)) * dnorm(g + d * asinh(r)) }
psu <- function(q, g, d, xi, l) pnorm(g + d * asinh((q - xi) / l))
dw3 <- function(x, t, k, s) dweibull(x - t, k, s)
pw3 <- function(q, t, k, s) pweibull(q - t, k, s)
out$fits <- list(
  normal = fit(wobbled, "norm"),
  logistic = fit(wobbled, "logis"),
  lognormal = fit(positive, "lnorm"),
  gamma = fit(positive, "gamma"),
  Weibull = fit(positive, "weibull"),
  "largest extreme value" = fit(skewed, "gumbel", start = list(a = 2.4, b = 0.3)),
  "folded normal" = fit(positive, "folded", start = list(m = 0.5, s = 0.4)),
  Rayleigh = fit(positive, "rayleigh", start = list(s = 0.5)),
  "Weibull with threshold" = fit(skewed, "w3", start = list(t = 1.95, k = 2, s = 0.7))
)
mass <- function(x, name) as.list(fitdistr(x, name)$estimate)
out$mass <- list(gamma = mass(positive, "gamma"), Weibull = mass(positive, "weibull"),
                 logistic = mass(wobbled, "logistic"))
b <- boxcox(positive ~ 1, lambda = seq(-1, 1.5, 0.0005), plotit = FALSE)
out$boxcox <- list(power = b$x[which.max(b$y)], gain = max(b$y) - b$y[which.min(abs(b$x - 1))])
test <- function(f, x) { r <- f(x); list(statistic = unname(r$statistic), p = r$p.value) }
out$normality <- lapply(list(skewed = skewed, wobbled = wobbled), function(x) list(
  "Anderson-Darling" = test(ad.test, x), Lilliefors = test(lillie.test, x),
  "Shapiro-Wilk" = test(shapiro.test, x)))
out$versions <- list(R = R.version.string, fitdistrplus = as.character(packageVersion("fitdistrplus")),
                     nortest = as.character(packageVersion("nortest")), MASS = as.character(packageVersion("MASS")))
here <- dirname(sub("--file=", "", grep("--file=", commandArgs(), value = TRUE)))
source(file.path(here, "../../helpers/as_json.R"))
writeLines(as_json(out), file.path(here, "r.json"))
