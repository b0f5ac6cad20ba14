# Reference values for tests/gauges/test_reference_values.py, from base R, lme4 and nlme.
# Data are drawn here once and kept beside the values. Run in this folder: Rscript gauges.R
# What R itself does not offer (Deming's line, Passing and Bablok's, weighted kappa, Mandel's h and k) is
# written out below from its formula, without a look at the kit's code.
library(lme4)
library(nlme)
suppressWarnings(RNGversion("4.0.0"))
set.seed(20261127)

found <- list()
keep <- function(name, ...) found[[name]] <<- unlist(list(...))
save_csv <- function(data, name) {
  write.csv(data, paste0(name, ".csv"), row.names = FALSE, quote = FALSE)
  read.csv(paste0(name, ".csv"), stringsAsFactors = FALSE)
}
tight <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-12, maxfun = 1e6),
                     check.conv.singular = "ignore")
components <- function(formula, data) {
  table <- as.data.frame(VarCorr(lmer(formula, data, control = tight)))
  setNames(table$vcov, table$grp)
}

# Crossed studies --------------------------------------------------------------------------------
crossed <- function(parts, people, days, trials) {
  grid <- expand.grid(trial = 1:trials, day = 1:days, who = LETTERS[1:people], part = 1:parts,
                      stringsAsFactors = FALSE)
  p <- rnorm(parts, 0, 0.8); a <- rnorm(people, 0, 0.3); d <- rnorm(days, 0, 0.25)
  pa <- matrix(rnorm(parts * people, 0, 0.2), parts)
  who <- match(grid$who, LETTERS)
  grid$value <- round(10 + p[grid$part] + a[who] + d[grid$day] + pa[cbind(grid$part, who)] +
                        rnorm(nrow(grid), 0, 0.15), 4)
  grid
}
even <- save_csv(crossed(10, 3, 1, 3)[, c("part", "who", "trial", "value")], "crossed_even")
gaps <- even[!((even$part * 3 + match(even$who, LETTERS)) %% 5 == 0), ]      # empty cells
gaps <- save_csv(gaps[-c(4, 17, 18, 40), ], "crossed_gaps")
whole <- crossed(8, 3, 3, 2)
three <- save_csv(whole[-c(3, 4, 31, 77, 78, 120), c("part", "who", "day", "trial", "value")], "crossed_three")

of_two <- value ~ 1 + (1 | part) + (1 | who) + (1 | part:who)
keep("crossed_even", components(of_two, even))
keep("crossed_gaps", components(of_two, gaps))
keep("crossed_three", components(
  value ~ 1 + (1 | part) + (1 | who) + (1 | day) + (1 | part:who) + (1 | part:day) + (1 | who:day) +
    (1 | part:who:day), three))
table <- anova(lm(value ~ factor(part) * who, even))
ms <- table[["Mean Sq"]]
keep("crossed_even_squares", part = ms[1], appraiser = ms[2], interaction = ms[3], repeatability = ms[4],
     interaction_p = table[["Pr(>F)"]][3])
trials <- anova(lm(value ~ factor(part):who, even), lm(value ~ factor(part):who + factor(trial), even))
keep("trial_effect", f = trials$F[2], p = trials[["Pr(>F)"]][2])
cell <- aggregate(value ~ part + who, even, function(x) c(mean(x), sd(x)))
by_size <- suppressWarnings(cor.test(cell$value[, 1], cell$value[, 2], method = "spearman", exact = FALSE))
keep("size_effect", rho = unname(by_size$estimate))
# Modified large samples would be the kit's own; the exact ends of repeatability are chi-square.
keep("repeatability_ends", low = sqrt(60 * ms[4] / qchisq(0.975, 60)), high = sqrt(60 * ms[4] / qchisq(0.025, 60)))

# Nested readings --------------------------------------------------------------------------------
nested <- expand.grid(specimen = 1:3, strip = 1:4, batch = 1:7)
b <- rnorm(7, 0, 2); s <- rnorm(28, 0, 1.2)
nested$strip <- nested$strip + 4 * (nested$batch - 1)
nested$value <- round(80 + b[nested$batch] + s[nested$strip] + rnorm(nrow(nested), 0, 1.5), 2)
nested <- save_csv(nested[-c(2, 3, 20, 44, 45, 70), c("batch", "strip", "value")], "nested")
keep("nested", components(value ~ 1 + (1 | batch) + (1 | strip), nested))
fit <- lme(value ~ 1, random = ~ 1 | batch / strip, data = nested,
           control = lmeControl(tolerance = 1e-12, msTol = 1e-14, niterEM = 200))
keep("nested_nlme", batch = as.numeric(VarCorr(fit)[2, 1]), strip = as.numeric(VarCorr(fit)[4, 1]),
     Residual = fit$sigma^2)

# Masters ----------------------------------------------------------------------------------------
masters <- data.frame(reference = rep(c(9.7, 9.85, 10, 10.15, 10.3), each = 12))
masters$value <- round(masters$reference + 0.004 + 0.02 * (masters$reference - 10) + rnorm(60, 0, 0.006), 4)
masters <- save_csv(masters, "masters")
masters$error <- masters$value - masters$reference
over_all <- t.test(masters$error)
keep("bias", mean = unname(over_all$estimate), low = over_all$conf.int[1], high = over_all$conf.int[2],
     t = unname(over_all$statistic), p = over_all$p.value)
third <- t.test(masters$error[masters$reference == 10])
keep("bias_of_10", mean = unname(third$estimate), low = third$conf.int[1], high = third$conf.int[2], p = third$p.value)
line <- lm(error ~ reference, masters)
ends <- confint(line)
at <- predict(line, data.frame(reference = c(9.6, 10.4)), interval = "confidence")
pure <- anova(line, lm(error ~ factor(reference), masters))
keep("linearity", slope = unname(coef(line)[2]), slope_low = ends[2, 1], slope_high = ends[2, 2],
     intercept = unname(coef(line)[1]), slope_p = summary(line)$coefficients[2, 4],
     r_squared = summary(line)$r.squared, residual_sd = summary(line)$sigma,
     lower = at[1, 1], lower_low = at[1, 2], lower_high = at[1, 3], upper = at[2, 1], upper_low = at[2, 2],
     upper_high = at[2, 3], lack_of_fit_p = pure[["Pr(>F)"]][2])

# Drift ------------------------------------------------------------------------------------------
drift <- data.frame(order = seq(0, 17700, 300))
noise <- as.numeric(arima.sim(list(ar = 0.5), 60, sd = 0.002))
drift$stretch <- (drift$order >= 6000) + (drift$order >= 12000)
drift$value <- round(10 + 0.001 * (drift$order %% 6000) / 1000 + noise, 5)
drift <- save_csv(drift[, c("order", "value", "stretch")], "drift")
drift$x <- drift$order / 1000
ar <- gls(value ~ x + factor(stretch), data = drift, correlation = corAR1(form = ~ 1 | stretch))
ols <- lm(value ~ x + factor(stretch), drift)
keep("drift", ols_slope = unname(coef(ols)["x"]), ols_se = summary(ols)$coefficients["x", 2],
     residual_sd = summary(ols)$sigma, gls_slope = unname(coef(ar)["x"]), gls_se = summary(ar)$tTable["x", 2],
     phi = unname(coef(ar$modelStruct$corStruct, unconstrained = FALSE)))

# Two gauges -------------------------------------------------------------------------------------
truth <- rnorm(40, 10, 0.3)
pairs <- data.frame(first = round(0.05 + 1.02 * truth + rnorm(40, 0, 0.04), 4),
                    second = round(truth + rnorm(40, 0, 0.02), 4))
pairs <- save_csv(pairs, "pairs")
deming <- function(y, x, ratio) {     # ratio: error variance of y over that of x
  syy <- var(y); sxx <- var(x); sxy <- cov(x, y)
  slope <- (syy - ratio * sxx + sqrt((syy - ratio * sxx)^2 + 4 * ratio * sxy^2)) / (2 * sxy)
  c(slope = slope, intercept = mean(y) - slope * mean(x))
}
n <- nrow(pairs)
best <- deming(pairs$first, pairs$second, 4)
without <- sapply(1:n, function(i) deming(pairs$first[-i], pairs$second[-i], 4))
pseudo <- n * best - (n - 1) * without
se <- apply(pseudo, 1, sd) / sqrt(n)
reach <- qt(0.975, n - 2) * se
keep("deming", slope = unname(best[1]), slope_low = unname(best[1] - reach[1]), slope_high = unname(best[1] + reach[1]),
     intercept = unname(best[2]), intercept_low = unname(best[2] - reach[2]), intercept_high = unname(best[2] + reach[2]))
slopes <- numeric(0)
for (i in 1:(n - 1)) for (j in (i + 1):n) {
  dx <- pairs$second[i] - pairs$second[j]; dy <- pairs$first[i] - pairs$first[j]
  if (dx != 0 || dy != 0) { s <- dy / dx; if (!is.nan(s) && s != -1) slopes <- c(slopes, s) }
}
slopes <- sort(slopes); m <- length(slopes); k <- sum(slopes < -1)
middle <- if (m %% 2) slopes[(m + 1) / 2 + k] else (slopes[m / 2 + k] + slopes[m / 2 + 1 + k]) / 2
wide <- qnorm(0.975) * sqrt(n * (n - 1) * (2 * n + 5) / 18)
first_rank <- round((m - wide) / 2); last_rank <- m - first_rank + 1
keep("passing_bablok", slope = middle, slope_low = slopes[first_rank + k], slope_high = slopes[last_rank + k],
     intercept = median(pairs$first - middle * pairs$second))
d <- pairs$first - pairs$second
against <- t.test(pairs$first, pairs$second, paired = TRUE)
ends <- qt(c(0.025, 0.975), n - 1, ncp = qnorm(0.975) * sqrt(n)) / sqrt(n)
keep("agreement", mean = mean(d), low = against$conf.int[1], high = against$conf.int[2],
     upper_limit = mean(d) + qnorm(0.975) * sd(d), upper_low = mean(d) + ends[1] * sd(d),
     upper_high = mean(d) + ends[2] * sd(d))
# Intraclass correlation A,1 of McGraw & Wong, Psychological Methods 1 (1996), 30-46, from mean squares.
long <- data.frame(value = c(pairs$first, pairs$second), part = factor(rep(1:n, 2)), gauge = factor(rep(1:2, each = n)))
table <- anova(lm(value ~ part + gauge, long))
r <- table[["Mean Sq"]][1]; cc <- table[["Mean Sq"]][2]; e <- table[["Mean Sq"]][3]
icc <- (r - e) / (r + e + 2 * (cc - e) / n)
a <- 2 * icc / (n * (1 - icc)); bb <- 1 + 2 * icc * (n - 1) / (n * (1 - icc))
v <- (a * cc + bb * e)^2 / ((a * cc)^2 / 1 + (bb * e)^2 / (n - 1))
f_low <- qf(0.975, n - 1, v); f_high <- qf(0.975, v, n - 1)
keep("icc", value = icc, low = n * (r - f_low * e) / (f_low * (2 * cc + (2 * n - 2 - n) * e) + n * r),
     high = n * (f_high * r - e) / (2 * cc + (2 * n - 2 - n) * e + n * f_high * r))

# Laboratories -----------------------------------------------------------------------------------
labs <- expand.grid(reading = 1:3, laboratory = LETTERS[1:6], part = 1:4, stringsAsFactors = FALSE)
off <- rnorm(6, 0, 0.05)
labs$value <- round(labs$part + off[match(labs$laboratory, LETTERS)] + rnorm(nrow(labs), 0, 0.03), 4)
labs$value[labs$laboratory == "E" & labs$part == 2 & labs$reading == 3] <- 2.4
labs <- save_csv(labs[, c("laboratory", "part", "value")], "laboratories")
for (one in 1:4) {
  own <- labs[labs$part == one, ]
  means <- tapply(own$value, own$laboratory, mean); sds <- tapply(own$value, own$laboratory, sd)
  table <- anova(lm(value ~ laboratory, own))
  s_r2 <- table[["Mean Sq"]][2]; s_l2 <- max((table[["Mean Sq"]][1] - s_r2) / 3, 0)
  h <- (means - mean(means)) / sd(means); k <- sds / sqrt(mean(sds^2))
  share <- max(sds^2) / sum(sds^2)
  cochran <- min(1, 6 * pf(5 * share / (1 - share), 2, 10, lower.tail = FALSE))
  g <- max(abs(h)); t2 <- 6 * 4 * g^2 / (25 - 6 * g^2)
  grubbs <- min(1, 12 * pt(sqrt(t2), 4, lower.tail = FALSE))
  keep(paste0("laboratories_", one), s_r = sqrt(s_r2), s_R = sqrt(s_r2 + s_l2), h = h, k = k,
       cochran_p = cochran, grubbs_p = grubbs)
}

# Judgements and grades --------------------------------------------------------------------------
size <- runif(40, 0, 4)
graded <- expand.grid(part = 1:40, who = c("Ana", "Ben", "Cem"), stringsAsFactors = FALSE)
graded$grade <- pmin(3, pmax(0, floor(size[graded$part] + c(0, 0.15, -0.1)[match(graded$who, c("Ana", "Ben", "Cem"))] +
                                      rnorm(120, 0, 0.35))))
graded$reference <- pmin(3, floor(size))[graded$part]
graded <- save_csv(graded, "grades")
kappa_w <- function(x, y, power) {
  table <- table(factor(x, 0:3), factor(y, 0:3)) / length(x)
  cost <- (abs(outer(0:3, 0:3, "-")) / 3)^power
  1 - sum(cost * table) / sum(cost * outer(rowSums(table), colSums(table)))
}
of <- function(name) graded$grade[graded$who == name]
ref <- graded$reference[graded$who == "Ana"]
keep("weighted_kappa", quadratic_ana = kappa_w(of("Ana"), ref, 2), linear_ana = kappa_w(of("Ana"), ref, 1),
     quadratic_ana_ben = kappa_w(of("Ana"), of("Ben"), 2), linear_ben_cem = kappa_w(of("Ben"), of("Cem"), 1))
ranked <- friedman.test(cbind(of("Ana"), of("Ben"), of("Cem")) |> t())   # appraisers as blocks, parts as groups
keep("kendall", w = unname(ranked$statistic) / (3 * 39), chi_square = unname(ranked$statistic), p = ranked$p.value)
accepts <- function(x) as.integer(x <= 1)
agree <- function(x, y) {
  po <- mean(x == y); pe <- mean(x) * mean(y) + (1 - mean(x)) * (1 - mean(y))
  (po - pe) / (1 - pe)
}
right <- sum(accepts(of("Ben")) == accepts(ref))
interval <- binom.test(right, 40)$conf.int
keep("judgements", kappa_ben = agree(accepts(of("Ben")), accepts(ref)), kappa_ana_ben = agree(accepts(of("Ana")), accepts(of("Ben"))),
     effectiveness = right / 40, effectiveness_low = interval[1], effectiveness_high = interval[2],
     miss = mean(accepts(of("Ben"))[accepts(ref) == 0]), false_alarm = mean(1 - accepts(of("Ben"))[accepts(ref) == 1]))

curve <- data.frame(measured = round(rep(seq(0.02, 0.14, length.out = 25), each = 4), 4))
curve$accepted <- as.integer(curve$measured + rnorm(100, 0, 0.015) < 0.08)
curve <- save_csv(curve, "curve")
probit <- glm(accepted ~ measured, binomial("probit"), curve, control = glm.control(epsilon = 1e-14, maxit = 100))
keep("curve", threshold = unname(-coef(probit)[1] / coef(probit)[2]), spread = unname(-1 / coef(probit)[2]),
     deviance = deviance(probit))

# Strength by size -------------------------------------------------------------------------------
pulls <- data.frame(batch = rep(1:8, each = 10), width = round(runif(80, 0.35, 0.55), 4))
pulls$force <- round(20 + 140 * pulls$width + rnorm(8, 0, 2)[pulls$batch] + rnorm(80, 0, 2.5), 2)
pulls <- save_csv(pulls, "pulls")
line <- lm(force ~ width, pulls)
x0 <- c(1, 0.4)
h <- as.numeric(t(x0) %*% summary(line)$cov.unscaled %*% x0)
bound <- sum(coef(line) * x0) - sqrt(h) * qt(0.95, 78, ncp = qnorm(0.99) / sqrt(h)) * summary(line)$sigma
keep("strength", slope = unname(coef(line)[2]), intercept = unname(coef(line)[1]), sd = summary(line)$sigma,
     slope_low = confint(line)[2, 1], slope_high = confint(line)[2, 2], bound_at_0.4 = bound,
     normal_p = shapiro.test(resid(line))$p.value)
mixed <- lme(force ~ width, random = ~ 1 | batch, data = pulls)
keep("strength_batches", slope = unname(fixef(mixed)[2]), slope_se = summary(mixed)$tTable[2, 2],
     total = sqrt(as.numeric(VarCorr(mixed)[1, 1]) + mixed$sigma^2),
     share = as.numeric(VarCorr(mixed)[1, 1]) / (as.numeric(VarCorr(mixed)[1, 1]) + mixed$sigma^2))
# The line below a tenth of the parts passes through two of them: all pairs are tried.
loss <- function(e) sum(e * (0.1 - (e < 0)))
lowest <- Inf
for (i in 1:79) for (j in (i + 1):80) if (pulls$width[i] != pulls$width[j]) {
  slope <- (pulls$force[i] - pulls$force[j]) / (pulls$width[i] - pulls$width[j])
  e <- pulls$force - pulls$force[i] - slope * (pulls$width - pulls$width[i])
  e[c(i, j)] <- 0
  if (loss(e) < lowest) { lowest <- loss(e); tenth <- slope }
}
keep("quantile_regression", slope = tenth)

# Wrong verdicts ---------------------------------------------------------------------------------
bad <- function(guard) {
  read <- function(y) dnorm(y) * (pnorm(3 - guard, y, 0.3) - pnorm(-3 + guard, y, 0.3))
  integrate(read, 3, 8, rel.tol = 1e-12)$value + integrate(read, -8, -3, rel.tol = 1e-12)$value
}
good <- function(guard) {
  read <- function(y) dnorm(y) * (1 - pnorm(3 - guard, y, 0.3) + pnorm(-3 + guard, y, 0.3))
  integrate(read, -3, 0, rel.tol = 1e-12)$value + integrate(read, 0, 3, rel.tol = 1e-12)$value
}
keep("wrong_verdicts", bad_accepted = bad(0), good_rejected = good(0), bad_with_guard = bad(0.2), good_with_guard = good(0.2))

lines <- sapply(names(found), function(name) {
  values <- found[[name]]
  sprintf('  "%s": {\n%s\n  }', name,
          paste(sprintf('    "%s": %.12g', names(values), values), collapse = ",\n"))
})
version <- sprintf('  "made_with": "R %s, lme4 %s, nlme %s"', getRversion(), packageVersion("lme4"), packageVersion("nlme"))
writeLines(c("{", paste(c(version, lines), collapse = ",\n"), "}"), "gauges.json")
