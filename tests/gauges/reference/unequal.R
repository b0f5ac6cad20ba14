# Reference values for tests/gauges/test_reference_values.py, from base R: tests that allow for unequal errors, and masters whose
# uncertainties are correlated. Run in this folder: Rscript unequal.R
found <- list()
keep <- function(name, ...) found[[name]] <<- unlist(list(...))

# Masters on a straight line, each with its own spread (Johansen 1980), from a weighted lm and its hat values.
masters <- read.csv("masters.csv")
masters$error <- masters$value - masters$reference
by <- aggregate(error ~ reference, masters, function(e) c(mean = mean(e), variance = var(e) / length(e), df = length(e) - 1))
by <- data.frame(reference = by$reference, by$error)
line <- lm(mean ~ reference, by, weights = 1 / by$variance)
r <- nrow(by) - 2
a <- sum((1 - hatvalues(line))^2 / by$df)
keep("bent_by_master", p = pf(deviance(line) / (r + 2 * a - 6 * a / (r + 2)), r, r * (r + 2) / (3 * a), lower.tail = FALSE))

# What unequal repeatabilities leave of degrees of freedom (Box 1954), from the eigenvalues of centring times variances.
even <- read.csv("crossed_even.csv", stringsAsFactors = FALSE)
even$cell <- paste(even$part, even$who)
rest <- residuals(lm(value ~ factor(cell), even))
people <- length(unique(even$who))
df <- tapply(even$cell, even$who, function(cells) length(cells) - length(unique(cells)))
ss <- tapply(rest^2, even$who, sum)
roots <- Re(eigen((diag(people) - 1 / people) %*% diag(as.numeric(ss / df)))$values)
keep("box", own = sum(roots)^2 / sum(roots^2) / (people - 1), error = sum(ss)^2 / sum(ss^2 / df) / sum(df))

# Bias on masters with u = 0.02 and correlation 0.6: covariance matrix of the masters' values, weights of the mean (JCGM 100, 5.2.2).
counts <- as.numeric(table(masters$reference))
pull <- counts / sum(counts)
covariance <- 0.02^2 * (diag(length(counts)) * 0.4 + 0.6)
shared <- as.numeric(t(pull) %*% covariance %*% pull)
n <- nrow(masters)
chance <- var(masters$error) / n
t <- qt(0.975, (n - 1) * ((chance + shared) / chance)^2)
keep("together", mean = mean(masters$error), half = t * sqrt(chance + shared))

out <- sapply(names(found), function(name) {
  sprintf('  "%s": {\n%s\n  }', name, paste(sapply(seq_along(found[[name]]), function(i)
    sprintf('    "%s": %s', names(found[[name]])[i], format(found[[name]][[i]], digits = 15))), collapse = ",\n"))
})
writeLines(sprintf('{\n  "made_with": "R %s.%s",\n%s\n}', R.version$major, R.version$minor, paste(out, collapse = ",\n")),
           "unequal.json")
