# Reference values for tests/gauges/test_reference_values.py, from base R: repeatability behind coarse steps, and two systems
# on the same parts. Run in this folder after gauges.R: Rscript beside.R
found <- list()
keep <- function(name, ...) found[[name]] <<- unlist(list(...))
even <- read.csv("crossed_even.csv", stringsAsFactors = FALSE)

# Behind steps: a reading is its cell's mean plus a normal error, known to half a step either way; the mean is integrated out.
step <- 0.25
cells <- split(round(even$value / step), paste(even$part, even$who))
log_likelihood <- function(sd) {       # in steps
  sum(sapply(cells, function(k) {
    inside <- function(u) sapply(u, function(m) prod(pnorm((k + 0.5 - m) / sd) - pnorm((k - 0.5 - m) / sd)))
    ends <- seq(min(k) - 0.5 - 8 * sd, max(k) + 0.5 + 8 * sd, length.out = 41)
    log(sum(sapply(1:40, function(i) integrate(inside, ends[i], ends[i + 1], rel.tol = 1e-10)$value)))
  }))
}
top <- optimize(log_likelihood, c(0.1, 3), maximum = TRUE, tol = 1e-8)
off <- function(sd) 2 * (top$objective - log_likelihood(sd)) - qchisq(0.95, 1)
keep("behind_steps", sd = step * top$maximum, low = step * uniroot(off, c(0.1, top$maximum), tol = 1e-9)$root,
     high = step * uniroot(off, c(top$maximum, 3), tol = 1e-9)$root)

# Two systems without people: bias by a paired t test of the parts' means, ratio of repeatability by F.
first <- even[even$who == "A", ]; second <- even[even$who == "B", ]
means <- function(x) tapply(x$value, x$part, mean)
within <- function(x) anova(lm(value ~ factor(part), x))[["Mean Sq"]][2]
bias <- t.test(means(second), means(first), paired = TRUE)
ratio <- sqrt(within(second) / within(first))
keep("two_systems", bias = unname(bias$estimate), low = bias$conf.int[1], high = bias$conf.int[2], p = bias$p.value,
     ratio = ratio, ratio_low = ratio / sqrt(qf(0.975, 20, 20)), ratio_high = ratio * sqrt(qf(0.975, 20, 20)))

lines <- sapply(names(found), function(name) {
  values <- found[[name]]
  sprintf('  "%s": {\n%s\n  }', name,
          paste(sprintf('    "%s": %.12g', names(values), values), collapse = ",\n"))
})
writeLines(c("{", paste(c(sprintf('  "made_with": "R %s"', getRversion()), lines), collapse = ",\n"), "}"), "beside.json")
