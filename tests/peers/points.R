# SPDX-License-Identifier: GPL-3.0-or-later
# Figures without pulls, by the names that points.c gives them.

# Wilson's ends by prop.test. Its correction is cut where it would pass the half it tests.
wilson <- function(k, n, level, corrected, end) {
  ends <- prop.test(k, n, conf.level = level, correct = corrected)$conf.int
  if (end == 1 && k == 0) 0 else if (end == 2 && k == n) 1 else ends[end]
}

# The score statistic of Barnard's test, its p the greatest over a fine grid of common rates and
# then about the best of them.
barnard <- function(ka, na, kb, nb) {
  score <- function(a, b) {
    p <- (a + b) / (na + nb)
    v <- p * (1 - p) * (1 / na + 1 / nb)
    ifelse(v > 0, abs(a / na - b / nb) / sqrt(v), 0)
  }
  if (ka / na == kb / nb) return(1)
  seen <- score(ka, kb)
  out <- outer(0:na, 0:nb, score) >= seen * (1 - 1e-9)
  chance <- function(p) sum(outer(dbinom(0:na, na, p), dbinom(0:nb, nb, p))[out])
  grid <- seq(0, 1, length.out = 1501)
  p <- sapply(grid, chance)
  best <- head(order(-p), 8)
  max(sapply(best, function(i)
    optimize(chance, c(max(0, grid[i] - 1e-3), min(1, grid[i] + 1e-3)), maximum = TRUE, tol = 1e-10)$objective))
}

# The conditional distribution of ka, from dhyper weighed by the odds. fisher.test looks for its
# estimate and ends with uniroot's own tolerance, 1.2e-4 of 1 below 1 and so much of it above.
odds_chance <- function(ka, na, kb, nb, log_odds) {
  x <- max(0, ka + kb - nb):min(na, ka + kb)
  l <- dhyper(x, na, nb, ka + kb, log = TRUE) + x * log_odds
  p <- exp(l - max(l))
  p <- p / sum(p)
  c(mean = sum(x * p), upper = sum(p[x >= ka]), lower = sum(p[x <= ka]))
}
odds <- function(ka, na, kb, nb, what, target, edge, at_edge) {
  x <- c(max(0, ka + kb - nb), min(na, ka + kb))
  if (edge != 0 && ka == x[(3 + edge) / 2]) return(at_edge)
  if (edge == 0 && any(ka == x)) return(if (ka == x[1]) 0 else Inf)
  exp(uniroot(function(l) odds_chance(ka, na, kb, nb, l)[[what]] - target, c(-30, 30), tol = 1e-13)$root)
}

newcombe <- function(ka, na, kb, nb, way) {
  a <- prop.test(ka, na, correct = FALSE)$conf.int
  b <- prop.test(kb, nb, correct = FALSE)$conf.int
  pa <- ka / na
  pb <- kb / nb
  if (way < 0) pa - pb - sqrt((pa - a[1])^2 + (b[2] - pb)^2)
  else pa - pb + sqrt((a[2] - pa)^2 + (pb - b[1])^2)
}

# Both one-sided tests pass; nothing differs in truth.
sameness <- function(n, margin, alpha) {
  df <- 2 * (n - 1)
  reach <- margin * sqrt(n / 2)
  t <- qt(1 - alpha, df)
  f <- function(s) 2 * df * s * dchisq(df * s^2, df) * pmax(0, 2 * pnorm(reach - t * s) - 1)
  low <- sqrt(qchisq(1e-14, df) / df)
  high <- min(reach / t, sqrt(qchisq(1e-14, df, lower.tail = FALSE) / df))
  if (high <= low) 0 else integrate(f, low, high, rel.tol = 1e-11, subdivisions = 1000)$value
}

# P((x_n - x_(n-1)) / (x_n - x_1) > r): given both ends all others lie below the gap.
dixon <- function(r, n) {
  outer_of <- function(low) vapply(low, function(u) dnorm(u) * integrate(function(w) dnorm(u + w) *
    (pnorm(u + w - r * w) - pnorm(u))^(n - 2), 0, 18, rel.tol = 1e-10, subdivisions = 500)$value, 0)
  n * (n - 1) * integrate(outer_of, -9, 9, rel.tol = 1e-9, subdivisions = 500)$value
}

# The chance that the range of k normals over a deviation of df stays below q, from the
# definition; ptukey is off by 4e-5 at 2 degrees of freedom and qtukey, so far out, by much more.
range_below <- function(q, k, df) {
  z <- seq(-9, 9, by = 0.05)
  given <- function(s) k * 0.05 * sum(dnorm(z) * (pnorm(z) - pnorm(z - q * s))^(k - 1))
  density <- function(s) 2 * df * s * dchisq(df * s^2, df)
  ends <- sqrt(qchisq(c(1e-14, 1 - 1e-13), df) / df)
  integrate(function(s) density(s) * vapply(s, given, 0), ends[1], ends[2], rel.tol = 1e-10,
            subdivisions = 500)$value
}

by_point <- list(
  "normal upper" = function(a, b, c, d) pnorm(a, lower.tail = FALSE),
  "normal log upper" = function(a, b, c, d) pnorm(a, lower.tail = FALSE, log.p = TRUE),
  "normal quantile" = function(a, b, c, d) qnorm(a, lower.tail = FALSE),
  "t upper" = function(a, b, c, d) pt(a, b, lower.tail = FALSE),
  "F upper" = function(a, b, c, d) pf(a, b, c, lower.tail = FALSE),
  "beta lower" = function(a, b, c, d) pbeta(a, b, c),
  "gamma lower" = function(a, b, c, d) pgamma(a, b),
  "chi-square upper" = function(a, b, c, d) pchisq(a, b, lower.tail = FALSE),
  "t quantile" = function(a, b, c, d) qt(a, b, lower.tail = FALSE),
  "F quantile" = function(a, b, c, d) qf(a, b, c, lower.tail = FALSE),
  "beta quantile" = function(a, b, c, d) qbeta(a, b, c),
  "chi-square quantile" = function(a, b, c, d) qchisq(a, b, lower.tail = FALSE),
  "noncentral t upper" = function(a, b, c, d) pt(a, b, c, lower.tail = FALSE),
  "noncentral F upper" = function(a, b, c, d) pf(a, b, c, d, lower.tail = FALSE),
  "noncentral t quantile" = function(a, b, c, d) qt(a, b, c, lower.tail = FALSE),
  "range upper" = function(a, b, c, d) 1 - range_below(a, b, c),
  "range upper of ptukey" = function(a, b, c, d) ptukey(a, b, c, lower.tail = FALSE),
  "range quantile" = function(a, b, c, d)
    exp(uniroot(function(q) 1 - range_below(exp(q), b, c) - a, log(c(0.5, 400)), tol = 1e-9)$root),
  "range quantile of qtukey" = function(a, b, c, d) qtukey(a, b, c, lower.tail = FALSE),
  "greatest t upper" = function(a, b, c, d) 1 - dunnett_below(a, rep(sqrt(0.5), b), c, d == 1),
  "Clopper-Pearson low" = function(a, b, c, d) binom.test(a, b, conf.level = c)$conf.int[1],
  "Clopper-Pearson high" = function(a, b, c, d) binom.test(a, b, conf.level = c)$conf.int[2],
  "Wilson low" = function(a, b, c, d) wilson(a, b, c, FALSE, 1),
  "Wilson high" = function(a, b, c, d) wilson(a, b, c, FALSE, 2),
  "Wilson corrected low" = function(a, b, c, d) wilson(a, b, c, TRUE, 1),
  "Wilson corrected high" = function(a, b, c, d) wilson(a, b, c, TRUE, 2),
  "Jeffreys low" = function(a, b, c, d) if (a == 0) 0 else qbeta((1 - c) / 2, a + 0.5, b - a + 0.5),
  "Jeffreys high" = function(a, b, c, d) if (a == b) 1 else qbeta((1 + c) / 2, a + 0.5, b - a + 0.5),
  "rate upper" = function(a, b, c, d) binom.test(a, b, alternative = "less", conf.level = c)$conf.int[2],
  "rate lower" = function(a, b, c, d) binom.test(a, b, alternative = "greater", conf.level = c)$conf.int[1],
  "Fisher p" = function(a, b, c, d) fisher.test(matrix(c(a, c, b - a, d - c), 2))$p.value,
  "Barnard p" = barnard,
  "odds ratio" = function(a, b, c, d) odds(a, b, c, d, "mean", a, 0, NaN),
  "odds ratio low" = function(a, b, c, d) odds(a, b, c, d, "upper", 0.025, -1, 0),
  "odds ratio high" = function(a, b, c, d) odds(a, b, c, d, "lower", 0.025, 1, Inf),
  "odds ratio of fisher.test" = function(a, b, c, d) fisher.test(matrix(c(a, c, b - a, d - c), 2))$estimate,
  "odds ratio low of fisher.test" = function(a, b, c, d) fisher.test(matrix(c(a, c, b - a, d - c), 2))$conf.int[1],
  "rate difference low" = function(a, b, c, d) newcombe(a, b, c, d, -1),
  "rate difference high" = function(a, b, c, d) newcombe(a, b, c, d, 1),
  "power" = function(a, b, c, d) power.t.test(b, a, 1, c)$power,
  "power of anova" = function(a, b, c, d)
    power.anova.test(groups = a, n = c, between.var = b, within.var = 1, sig.level = d)$power,
  "pulls for power" = function(a, b, c, d)
    max(2, power.t.test(delta = a, sig.level = b, power = c, tol = 1e-13)$n),
  "pulls for anova" = function(a, b, c, d)
    max(2, uniroot(function(n) power.anova.test(a, n, b, 1, c)$power - d, c(2, 1e5), tol = 1e-11)$root),
  "pulls for sameness" = function(a, b, c, d)
    uniroot(function(n) sameness(n, a, b) - c, c(2, 1e4), tol = 1e-11)$root,
  "tolerance factor" = function(a, b, c, d) tolerance_factor(a, b, c),
  "tolerance rank" = function(a, b, c, d) sum(pbinom(seq_len(a) - 1, a, 1 - b) <= 1 - c),
  "success run" = function(a, b, c, d) ceiling(log(1 - b) / log(a)),
  "Dixon upper" = function(a, b, c, d) dixon(a, b))
