-- The first time that each manoeuvre which lasts was tried in a record. Timed only where its end was called out.
with tried as (
  select mode, code,
    case when end_by in ('called', 'outcome') then seconds end as seconds,
    row_number() over (partition by record, code order by number) as k
  from intervals
  where measure = 'manoeuvre' and act = 'lasting'
)
select t.mode, t.code, count(*) as begun, count(t.seconds) as timed,
  percentile_cont(0.25) within group (order by t.seconds) as q1,
  percentile_cont(0.5) within group (order by t.seconds) as median,
  percentile_cont(0.75) within group (order by t.seconds) as q3
from tried t
where t.k = 1
group by t.mode, t.code
order by t.mode, t.code
