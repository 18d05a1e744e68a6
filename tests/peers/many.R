# SPDX-License-Identifier: GPL-3.0-or-later
# Many sets of pulls.

# ---- Dunnett, from the definition ----

# The chance that the greatest |T_i| (T_i when one-sided) stays below q: given the reference's
# normal z and the deviation s all comparisons are independent. Over z by the trapezoidal rule,
# which is good to far below 1e-12 for what falls off as a normal does.
dunnett_below <- function(q, lambda, df, one_sided = FALSE) {
  z <- seq(-8.5, 8.5, by = 0.05)
  shift <- outer(z, lambda / sqrt(1 - lambda^2))
  rest <- rep(sqrt(1 - lambda^2), each = length(z))
  given <- function(s) {
    part <- pnorm(shift + q * s / rest)
    if (!one_sided) part <- part - pnorm(shift - q * s / rest)
    0.05 * sum(dnorm(z) * apply(part, 1, prod))
  }
  density <- function(s) 2 * df * s * dchisq(df * s^2, df)
  ends <- sqrt(qchisq(c(1e-13, 1 - 1e-13), df) / df)
  integrate(function(s) density(s) * vapply(s, given, 0), ends[1], ends[2], rel.tol = 1e-9,
            subdivisions = 500)$value
}

# ---- pairs ----

say_pair <- function(name, a, b, difference, se, df, p, critical) {
  at <- 10 * a + b
  say(paste(name, "t"), difference / se, at)
  say(paste(name, "df"), df, at)
  say(paste(name, "p"), p, at)
  say(paste(name, "half width"), if (difference == 0) NaN else critical, at)
}

tukey <- function(x, g, n, m) {
  fit <- aov(x ~ g)
  all <- TukeyHSD(fit, conf.level = 0.95)$g
  variance <- deviance(fit) / fit$df.residual
  row <- 0
  p <- numeric(0)
  for (a in seq_along(n)[-length(n)]) for (b in (a + 1):length(n)) {
    row <- row + 1
    se <- sqrt(variance * (1 / n[a] + 1 / n[b]))
    say_pair("Tukey", a - 1, b - 1, m[a] - m[b], se, fit$df.residual, all[row, "p adj"],
             (all[row, "upr"] - all[row, "lwr"]) / 2 / se)
    p[row] <- 2 * pt(-abs(m[a] - m[b]) / se, fit$df.residual)
  }
  adjusted <- p.adjust(p, "holm")
  row <- 0
  for (a in seq_along(n)[-length(n)]) for (b in (a + 1):length(n))
    say("Holm p", adjusted[row <- row + 1], 10 * (a - 1) + b - 1)
}

games_howell <- function(n, m, v) {
  k <- length(n)
  for (a in seq_len(k - 1)) for (b in (a + 1):k) {
    se2 <- c(v[a] / n[a], v[b] / n[b])
    df <- sum(se2)^2 / sum(se2^2 / (n[c(a, b)] - 1))
    t <- (m[a] - m[b]) / sqrt(sum(se2))
    say_pair("Games-Howell", a - 1, b - 1, m[a] - m[b], sqrt(sum(se2)), df,
             ptukey(abs(t) * sqrt(2), k, df, lower.tail = FALSE), qtukey(0.95, k, df) / sqrt(2))
  }
}

# The second set is the reference.
dunnett <- function(x, g, n, m) {
  set.seed(5)
  fit <- aov(x ~ g, data = data.frame(x = x - mean(x), g = relevel(g, levels(g)[2])))
  test <- summary(glht(fit, mcp(g = "Dunnett")),
                  test = adjusted("single-step", abseps = 1e-5, maxpts = 200000))$test
  df <- fit$df.residual
  lambda <- sqrt(n[-2] / (n[-2] + n[2]))
  critical <- uniroot(function(q) dunnett_below(q, lambda, df) - 0.95, c(1.5, 8), tol = 1e-7)$root
  others <- seq_along(n)[-2]
  for (i in seq_along(others)) {
    a <- others[i]
    se <- sqrt(deviance(fit) / df * (1 / n[a] + 1 / n[2]))
    p <- 1 - dunnett_below(abs(m[a] - m[2]) / se, lambda, df)
    say_pair("Dunnett", a - 1, 1, m[a] - m[2], se, df, p, critical)
    say("Dunnett p of glht", test$pvalues[i], 10 * (a - 1) + 1)
  }
}

# ---- k-sample Anderson-Darling ----

# Scholz and Stephens 1987, sums over sets and different loads as tables.
anderson_darling_many <- function(x, g) {
  at <- table(x, g)
  l <- rowSums(at)
  n <- colSums(at)
  total <- sum(n)
  reached <- apply(at, 2, cumsum)
  below <- cumsum(l)
  last <- length(l)
  plain <- sapply(seq_along(n), function(i)
    sum((l / total * (total * reached[, i] - n[i] * below)^2 / (below * (total - below)))[-last]) / n[i])
  middle <- reached - at / 2
  ba <- below - l / 2
  ties <- sapply(seq_along(n), function(i)
    sum(l / total * (total * middle[, i] - n[i] * ba)^2 / (ba * (total - ba) - total * l / 4)) / n[i])
  say("k-sample Anderson-Darling", sum(plain))
  say("k-sample Anderson-Darling midrank", (total - 1) / total * sum(ties))
  k <- length(n)
  h2 <- sum(1 / n)
  h <- sum(1 / seq_len(total - 1))
  s <- 0
  for (i in seq_len(total - 2)) s <- s + sum(1 / ((total - i) * ((i + 1):(total - 1))))
  a <- (4 * s - 6) * (k - 1) + (10 - 6 * s) * h2
  b <- (2 * s - 4) * k^2 + 8 * h * k + (2 * s - 14 * h - 4) * h2 - 8 * h + 4 * s - 6
  c <- (6 * h + 2 * s - 2) * k^2 + (4 * h - 4 * s + 6) * k + (2 * h - 6) * h2 + 4 * h
  d <- (2 * h + 6) * k^2 - 4 * h * k
  say("k-sample Anderson-Darling sigma",
      sqrt((a * total^3 + b * total^2 + c * total + d) / ((total - 1) * (total - 2) * (total - 3))))
}

# ---- all of it ----

# Loads are taken from one of them: aov's own sums of squares lose digits to a far offset.
many_sets <- function(case) {
  x <- case$load - case$load[1]
  g <- factor(case$set)
  n <- as.numeric(table(g))
  m <- as.numeric(tapply(x, g, mean))
  v <- as.numeric(tapply(x, g, var))
  table <- anova(aov(x ~ g))
  say("anova between", table[1, 2]); say("anova within", table[2, 2])
  say("anova F", table[1, 4]); say("anova p", table[1, 5])
  welch <- if (all(v > 0)) oneway.test(x ~ g) else list(statistic = NaN, parameter = c(NaN, NaN), p.value = NaN)
  say("Welch anova F", welch$statistic); say("Welch anova df", welch$parameter[2])
  say("Welch anova p", welch$p.value)
  off <- abs(x - ave(x, g, FUN = median))
  levene <- anova(aov(off ~ g))
  say("Levene F", levene[1, 4]); say("Levene p", levene[1, 5])
  anderson_darling_many(x, g)
  tukey(x, g, n, m)
  games_howell(n, m, v)
  dunnett(x, g, n, m)

  # CMH-17-1G 8.3.5.3.
  k <- length(n)
  total <- sum(n)
  size <- (total - sum(n^2) / total) / (k - 1)
  factor_of <- function(n) tolerance_factor(n, 0.9, 0.95)
  u <- max(1, table[1, 3] / table[2, 3])
  w <- sqrt(u / (u + size - 1))
  t <- (factor_of(total) - factor_of(k) / sqrt(size) + (factor_of(k) - factor_of(total)) * w) / (1 - 1 / sqrt(size))
  s <- sqrt(table[1, 3] / size + (size - 1) / size * table[2, 3])
  say("bound between sets factor", t)
  say("bound between sets", case$load[1] + mean(x) - t * s)

  say("pooled mean", mean(case$load))
  say("pooled variance", table[2, 3] / total)
  say("pooled mean low", mean(case$load) - qt(0.975, total - k) * sqrt(table[2, 3] / total))
}

# ASTM E691 for equal n, else the components of the one-way analysis (ISO 5725-2).
several_benches <- function(case) {
  g <- factor(case$set)
  n <- as.numeric(table(g))
  m <- as.numeric(tapply(case$load, g, mean))
  s <- as.numeric(tapply(case$load, g, sd))
  p <- length(n)
  table <- anova(aov(case$load ~ g))
  size <- (sum(n) - sum(n^2) / sum(n)) / (p - 1)
  between2 <- max(0, (table[1, 3] - table[2, 3]) / size)
  say("repeatability", sqrt(table[2, 3]))
  say("between benches", sqrt(between2))
  say("reproducibility", sqrt(between2 + table[2, 3]))
  t <- qt(1 - 0.005 / 2, p - 2)
  say("h critical", (p - 1) * t / sqrt(p * (t^2 + p - 2)))
  f <- qf(1 - 0.005, min(n) - 1, (p - 1) * (min(n) - 1))
  say("k critical", sqrt(p / (1 + (p - 1) / f)))
  for (i in seq_len(p)) {
    say("h", (m[i] - mean(m)) / sd(m), i - 1)
    say("k", s[i] / sqrt(table[2, 3]), i - 1)
  }
}
