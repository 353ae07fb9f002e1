-- The first three manoeuvres of a record in the order of their beginning; the hand that goes in is not one of them.
with begun as (
  select record, code, row_number() over (partition by record order by number) as k
  from intervals
  where measure = 'manoeuvre' and act <> 'hand'
),
paths as (
  select record,
    concat(
      max(case when k = 1 then code else '' end),
      max(case when k = 2 then concat(' > ', code) else '' end),
      max(case when k = 3 then concat(' > ', code) else '' end),
      max(case when k = 4 then ' > more' else '' end)
    ) as path
  from begun
  where k <= 4
  group by record
)
select b.mode, coalesce(p.path, 'none recorded') as path, count(*) as n
from births b
left join paths p on p.record = b.record
group by b.mode, coalesce(p.path, 'none recorded')
order by b.mode, n desc, path
