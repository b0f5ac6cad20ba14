# Reference values for tests/gauges/test_reference_values.py, from base R: Bartlett's test of appraisers, Cg and Cgk, a budget
# of uncertainty, and reproducibility of laboratories over all parts. Run in this folder after gauges.R: Rscript masters_and_budget.R
found <- list()
keep <- function(name, ...) found[[name]] <<- unlist(list(...))

# Bartlett's test on the spread within cells: R takes linear models with their own degrees of freedom.
even <- read.csv("crossed_even.csv", stringsAsFactors = FALSE)
fits <- lapply(split(even, even$who), function(own) lm(value ~ factor(part), own))
bartlett <- bartlett.test(fits)
keep("bartlett", statistic = unname(bartlett$statistic), df = unname(bartlett$parameter), p = bartlett$p.value)

# Cg and Cgk on the master of 10: chi-square, and the noncentral t of the nearer side; a fifth of a tolerance of 0.3, six SD
# (R takes a rougher noncentral t beyond a noncentrality of 37.62).
masters <- read.csv("masters.csv")
read <- masters$value[masters$reference == 10]
n <- length(read); s <- sd(read); room <- 0.03 - abs(mean(read) - 10)
cg <- 0.06 / (6 * s)
t <- sqrt(n) * room / s
# At least this noncentrality, at most that one: the statistic seen is then at either end of 95 %.
ncp <- sapply(c(0.975, 0.025), function(at) uniroot(function(d) pt(t, n - 1, d) - at, c(0, 5 * t), tol = 1e-12)$root)
keep("cg", cg = cg, cg_low = cg * sqrt(qchisq(0.025, n - 1) / (n - 1)), cg_high = cg * sqrt(qchisq(0.975, n - 1) / (n - 1)),
     cgk = room / (3 * s), cgk_low = ncp[1] / (3 * sqrt(n)), cgk_high = ncp[2] / (3 * sqrt(n)))

# Ends of a sum of independent mean squares, all added (Graybill & Wang 1980).
ends <- function(terms, df) {
  g <- 1 - df / qchisq(0.975, df); h <- df / qchisq(0.025, df) - 1
  c(sum(terms) - sqrt(sum((g * terms)^2)), sum(terms) + sqrt(sum((h * terms)^2)))
}

# Budget: 0.03 known exactly with a sensitivity of 2, 0.05 with 8 and 0.02 with 20 degrees of freedom; limits 9 and 11.
u2 <- c(0.06, 0.05, 0.02)^2; df <- c(Inf, 8, 20)
effective <- sum(u2)^2 / sum(u2^2 / df)
known <- ends(u2[2:3], df[2:3]) + u2[1]
keep("budget", u = sqrt(sum(u2)), low = sqrt(known[1]), high = sqrt(known[2]), df = effective,
     band = qt(0.95, effective) * sqrt(sum(u2)))
# Two that are correlated by 0.5 (GUM, eq. 16).
keep("correlated", u = sqrt(sum(u2) + 2 * 0.5 * 0.05 * 0.02))

# Laboratories over all parts: one off on all of them has the freedom of laboratories.
labs <- read.csv("laboratories.csv", stringsAsFactors = FALSE)
squares <- anova(lm(value ~ factor(part) * laboratory, labs))
q <- nlevels(factor(labs$part)); p <- nlevels(factor(labs$laboratory)); n <- nrow(labs) / (p * q)
terms <- squares[["Mean Sq"]][2:4] * c(1 / (n * q), (q - 1) / (n * q), 1 - 1 / n)
both <- sqrt(ends(terms, squares[["Df"]][2:4]))
keep("laboratories", sd = sqrt(sum(terms)), low = both[1], high = both[2])

lines <- sapply(names(found), function(name) {
  values <- found[[name]]
  sprintf('  "%s": {\n%s\n  }', name,
          paste(sprintf('    "%s": %.12g', names(values), values), collapse = ",\n"))
})
writeLines(c("{", paste(c(sprintf('  "made_with": "R %s"', getRversion()), lines), collapse = ",\n"), "}"), "masters_and_budget.json")
