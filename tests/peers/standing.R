# SPDX-License-Identifier: GPL-3.0-or-later
# Ranks, chances of places, and tests that may be looked at after every pull.

# ---- looked at after every pull ----

# The density of t when the difference is drawn from a normal of `effect` deviations, over that without any:
# by integration of the noncentral t, as it is defined.
log_evidence_defined <- function(t, nu, n, effect) {
  f <- function(d) dt(t, nu, d * sqrt(n)) * dnorm(d, 0, effect)
  ends <- c(-8, 8) * effect
  middle <- min(max(t / sqrt(n), ends[1] / 2), ends[2] / 2)
  log(integrate(f, ends[1], middle, rel.tol = 1e-10)$value + integrate(f, middle, ends[2], rel.tol = 1e-10)$value) -
    dt(t, nu, log = TRUE)
}

# The same in closed form: that t is a central one, wider by the root.
log_evidence <- function(t, nu, n, effect) {
  wider <- sqrt(1 + n * effect^2)
  dt(t / wider, nu, log = TRUE) - log(wider) - dt(t, nu, log = TRUE)
}

# Where the evidence of a half width reaches what is wanted; it rises to a limit.
half_width_of <- function(evidence, scale, wanted) {
  if (evidence(1e6 * scale) <= wanted) return(Inf)
  high <- scale
  while (evidence(high) < wanted) high <- 2 * high
  uniroot(function(h) evidence(h) - wanted, c(0, high), tol = 1e-13 * scale)$root
}

say_watched <- function(name, effect, difference, log_e, half) {
  say(paste("watch", name, "log e"), log_e, effect)
  say(paste("watch", name, "low"), difference - half, effect)
  say(paste("watch", name, "high"), difference + half, effect)
}

watched_t <- function(name, effect, difference, variance, nu, n, level) {
  se <- sqrt(variance / n)
  half <- half_width_of(function(h) log_evidence(h / se, nu, n, effect), se, -log(1 - level))
  say_watched(name, effect, difference, log_evidence_defined(difference / se, nu, n, effect), half)
}

# Each side against one mean of both; the least over all means.
least_of_sides <- function(a, b, h, effect) {
  side <- function(x, u) log_evidence(u * sqrt(length(x)) / sd(x), length(x) - 1, length(x), effect)
  both <- function(u) side(a, u) + side(b, h - u)
  places <- seq(0, h, length.out = 4001)
  at <- both(places)
  near <- places[pmin(pmax(which.min(at) + c(-1, 1), 1), length(places))]
  min(at, optimize(both, near, tol = 1e-14 * h)$objective)
}

say_watches <- function(x, level) {
  a <- x[[1]]
  b <- x[[2]]
  n <- c(length(a), length(b))
  pair <- a[seq_len(min(n))] - b[seq_len(min(n))]
  pooled <- sum((n - 1) * c(var(a), var(b))) / (sum(n) - 2)
  for (effect in c(0.4, 1, 2.3)) {
    watched_t("paired", effect, mean(pair), var(pair), min(n) - 1, min(n), level)
    watched_t("two", effect, mean(a) - mean(b), pooled, sum(n) - 2, prod(n) / sum(n), level)
    half <- half_width_of(function(h) if (h == 0) -Inf else least_of_sides(a, b, h, effect), sd(a) + sd(b),
                          -log(1 - level))
    say_watched("unlike", effect, mean(a) - mean(b), least_of_sides(a, b, abs(mean(a) - mean(b)), effect), half)
  }
}

say_watch_all <- function(m, n, v, level) {
  nu <- sum(n - 1)
  pooled <- sum((n - 1) * v) / nu
  pairs <- combn(length(n), 2)
  worth <- apply(pairs, 2, function(p) prod(n[p]) / sum(n[p]))
  d <- apply(pairs, 2, function(p) m[p[1]] - m[p[2]])
  p <- exp(-pmax(0, log_evidence(d / sqrt(pooled / worth), nu, worth, 1)))
  adjusted <- p.adjust(p, "holm")
  for (i in seq_len(ncol(pairs))) {
    at <- sum(c(10, 1) * (pairs[, i] - 1))
    se <- sqrt(pooled / worth[i])
    say("watch all p", adjusted[i], at)
    say("watch all low", d[i] - half_width_of(function(h) log_evidence(h / se, nu, worth[i], 1), se,
                                              -log((1 - level) / ncol(pairs))), at)
  }
}

# ---- ranks ----

# pmvt and pmvnorm add up random points until their error is said to be below this.
exactly_drawn <- GenzBretz(maxpts = 1e5, abseps = 5e-5, releps = 0)
drawings <- 20000

say_ranks <- function(value, covariance, df, level, criticals) {
  k <- length(value)
  t_of <- outer(seq_len(k), seq_len(k), Vectorize(function(i, j) if (i == j) 0 else
    (value[i] - value[j]) / sqrt(covariance[i, i] + covariance[j, j] - 2 * covariance[i, j])))
  for (together in 0:1) {
    critical <- qt(1 - (1 - level) / 2 / (if (together) k * (k - 1) / 2 else k - 1), df)
    for (i in seq_len(k)) {
      at <- 10 * together + i - 1
      say("rank critical", critical, at)
      say("rank low", 1 + sum(t_of[i, ] < -critical), at)
      say("rank high", k - sum(t_of[i, ] > critical), at)
    }
    for (i in seq_len(if (together) 1 else k)) {
      at <- 10 * together + i - 1
      pairs <- if (together) combn(k, 2) else rbind(i, setdiff(seq_len(k), i))
      contrasts <- t(apply(pairs, 2, function(p) replace(numeric(k), p, c(1, -1))))
      covariances <- contrasts %*% covariance %*% t(contrasts)
      below <- function(c) chance_below(c, covariances, df)
      # One of Newton's steps from ours leads to theirs.
      from <- criticals$value[criticals$figure == paste0("rank critical drawn @", at)]
      density <- (below(from + 0.05) - below(from - 0.05)) / 0.1
      say("rank critical drawn", from + (level - below(from)) / density, at,
          margin = (4.5 * sqrt(level * (1 - level) / drawings) + 1e-4) / density)
    }
  }
}

# That no |t| of the contrasts passes c. Those of all pairs hang on k - 1 of them, which pmvt does
# not mind.
chance_below <- function(c, covariance, df) {
  m <- nrow(covariance)
  set.seed(2027)
  pmvt(rep(-c, m), rep(c, m), df = round(df), corr = cov2cor(covariance), algorithm = exactly_drawn)[1]
}

say_chances <- function(value, covariance, df) {
  for (i in seq_along(value)) {
    others <- setdiff(seq_along(value), i)
    contrasts <- t(sapply(others, function(j) replace(numeric(length(value)), c(i, j), c(1, -1))))
    spread <- contrasts %*% covariance %*% t(contrasts)
    scaled <- drop(contrasts %*% value) / sqrt(diag(spread))
    set.seed(2027)
    p <- pmvt(rep(-Inf, length(others)), scaled, df = round(df), corr = cov2cor(spread), algorithm = exactly_drawn)[1]
    say("chance of the best", p, i - 1, margin = 4.5 * sqrt((p * (1 - p) + 1 / drawings) / drawings) + 1e-4)
  }
}

# Chances that pairs stand the wrong way round, as if they did not hang together.
say_wrong <- function(value, variance, df) {
  chance <- function(i, j) pt(-abs(value[i] - value[j]) / sqrt(variance[i] + variance[j]), df)
  order <- order(-value)
  for (top in 1:2) {
    pairs <- expand.grid(i = order[seq_len(top)], j = order[-seq_len(top)])
    say("wrong first places", 1 - prod(1 - chance(pairs$i, pairs$j)), top)
  }
  say("wrong of two", chance(1, 2))
}

standing_sets <- function(case) {
  x <- split(case$load, case$set)
  n <- lengths(x)
  m <- sapply(x, mean)
  v <- sapply(x, var)
  df <- sum(n - 1)
  relative <- sum((n - 1) * v / m^2) / df
  covariance <- relative * (diag(1 / n) + 1 / 9)
  say_watches(x, 0.95)
  say_watch_all(m, n, v, 0.95)
  say_ranks(log(m), covariance, df, 0.95, ours[ours$case == case$case[1], ])
  say_chances(log(m), covariance, df)
  say_wrong(log(m), relative / n, df)
}
