-- How likely numbers are under a normal law whose spread is what each scatters by itself (sd) and what a few
-- unknowns move together (columns). usage: local log_density, unknowns = gauss.density(r, sd, columns, mean)
-- r: seen less expected, false where either is missing (skipped). The unknowns have spread 1 and mean `mean`.

local gauss = {}

-- Lower triangle of a symmetric positive matrix, in place; returns the log of its determinant.
function gauss.cholesky(a, n)
    local log_det = 0
    for i = 1, n do
        local row = a[i]
        for j = 1, i do
            local other = a[j]
            local sum = row[j]
            for k = 1, j - 1 do
                sum = sum - row[k] * other[k]
            end
            if i == j then
                row[i] = math.sqrt(math.max(1e-12, sum))
                log_det = log_det + 2 * math.log(row[i])
            else
                row[j] = sum / other[j]
            end
        end
    end
    return log_det
end

function gauss.solve(lower, n, b)
    local x = {}
    for i = 1, n do
        local sum = b[i]
        for k = 1, i - 1 do
            sum = sum - lower[i][k] * x[k]
        end
        x[i] = sum / lower[i][i]
    end
    local half = 0
    for i = 1, n do
        half = half + x[i] * x[i]
    end
    for i = n, 1, -1 do
        local sum = x[i]
        for k = i + 1, n do
            sum = sum - lower[k][i] * x[k]
        end
        x[i] = sum / lower[i][i]
    end
    return x, half
end

-- The information that r holds on the unknowns: matrix I + C'C / sd2, vector, sum of squares, log of the sds.
function gauss.information(r, sd, columns, mean)
    local k = #columns
    local a, b = {}, {}
    for i = 1, k do
        a[i], b[i] = {}, 0
        for j = 1, i do
            a[i][j] = i == j and 1 or 0
        end
    end
    local squares, logs = 0, 0
    local c = {}
    for f = 1, #r do
        local value = r[f]
        if value then
            local w = 1 / sd[f]
            logs = logs + math.log(sd[f])
            for i = 1, k do
                local entry = (columns[i][f] or 0) * w
                c[i] = entry
                value = value - (mean[i] or 0) * entry * sd[f]
            end
            value = value * w
            squares = squares + value * value
            for i = 1, k do
                local ci = c[i]
                if ci ~= 0 then
                    b[i] = b[i] + ci * value
                    local row = a[i]
                    for j = 1, i do
                        row[j] = row[j] + ci * c[j]
                    end
                end
            end
        end
    end
    return a, b, squares, logs
end

function gauss.density(r, sd, columns, mean)
    local k = #columns
    local a, b, squares, logs = gauss.information(r, sd, columns, mean)
    local log_det = gauss.cholesky(a, k)
    local x, explained = gauss.solve(a, k, b)
    for i = 1, k do
        x[i] = x[i] + (mean[i] or 0)
    end
    return -0.5 * (squares - explained + log_det) - logs, x
end

return gauss
